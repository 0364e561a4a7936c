"""What the clocks tell: put back, put forward or asleep, restarted; and ordinary time says nothing."""

from datetime import UTC, datetime, timedelta

import pytest

from logger.trail.clocks import Jump, Moment, jump, moment_of, utc_text

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


def at(seq: int, utc: float, mono: float, boot: str = "a") -> Moment:
    return Moment(seq, NOON + timedelta(seconds=utc), timedelta(seconds=mono), boot)


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        (at(2, 10, 10), None),
        (at(2, 0, 0), None),
        (at(2, 8.5, 10), None),
        (at(2, 14.9, 10), None),
        (at(2, 7, 10), (-3, "back")),
        (at(2, -3590, 10), (-3600, "back")),
        (at(2, 16, 10), (6, "ahead")),
        (at(2, 40_010, 10), (40_000, "ahead")),
        (at(2, 40_010, 3, "b"), None),
        (at(2, -86_400, 3, "b"), (-86_400, "restart")),
        (at(2, -86_400, 3, ""), None),
    ],
)
def test_two_neighbours(after: Moment, expected: tuple[float, str] | None) -> None:
    found = jump(at(1, 0, 0), after)
    assert (None if found is None else (found.by.total_seconds(), found.kind)) == expected


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (
            Jump(12, 13, timedelta(hours=-1), "back"),
            "Between events 12 and 13 the host's clock was put back, by 1 h: go by the numbers of events, not by "
            "their times.",
        ),
        (
            Jump(3, 4, timedelta(days=1, minutes=2, seconds=5), "ahead"),
            "Between events 3 and 4 the host slept, or its clock was put forward, by 1 d 2 min 5 s. What was prompted "
            "before still stands.",
        ),
        (
            Jump(7, 8, timedelta(seconds=-86_400), "restart"),
            "Between events 7 and 8 the host's clock shows an earlier time after a restart, by 1 d: go by the numbers "
            "of events, not by their times.",
        ),
    ],
)
def test_it_is_told_in_a_sentence(found: Jump, says: str) -> None:
    assert found.sentence() == says


def test_when_a_record_happened() -> None:
    record = {"seq": 7, "utc": "2026-03-01T12:00:00.000001Z", "mono_us": 5, "boot": "a"}
    assert moment_of(record) == Moment(7, NOON + timedelta(microseconds=1), timedelta(microseconds=5), "a")


@pytest.mark.parametrize(
    "change", [{"utc": "noon"}, {"utc": "2026-03-01T12:00:00"}, {"utc": 7}, {"mono_us": "5"}, {"boot": None}]
)
def test_what_says_nothing_of_time_is_passed_over(change: dict[str, object]) -> None:
    assert moment_of({"seq": 7, "utc": "2026-03-01T12:00:00Z", "mono_us": 5, "boot": "a", **change}) is None
    assert jump(None, at(1, 0, 0)) is None


@pytest.mark.parametrize(
    ("utc_ns", "text"),
    [
        (0, "1970-01-01T00:00:00.000000Z"),
        (1_767_655_800_123_456_789, "2026-01-05T23:30:00.123456Z"),
        (1_767_655_800_000_000_000, "2026-01-05T23:30:00.000000Z"),
    ],
)
def test_instants_have_six_decimals_always_so_that_text_order_is_time_order(utc_ns: int, text: str) -> None:
    assert utc_text(utc_ns) == text

"""The soak, short: every fault at least once; and its ledger, which has to notice what it is there for."""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from drivers.reading import Arrival, Link, Stamp, ToolReading, ToolState, Undecoded
from logger import events as ev
from logger.bench.arrivals import Arrivals
from simulators.clock import Pace
from tests.bench.soak import Soak
from tests.bench.soakair import link_of
from tests.bench.soakfaults import Faults
from tests.bench.soakfigures import Held, rise, slope
from tests.bench.soakledger import Account, Cut, Flight, compare
from tests.bench.soakreport import Report, table
from tests.bench.soaktools import Tools

AT = ev.Received(utc="2026-01-05T08:00:00.000000Z", mono_us=0)
SLOT = ev.Slot(step="wear", place="", part="")
NAMES = {"C": "C", "Bench caliper": "C", "W": "W"}
CUTS = {"T": Cut(2)}
CURVE = ("0.01", "20.00", "60.00", "98.00", "30.00", "0.02")


# --- the whole ------------------------------------------------------------------------------------------------------


async def test_jobs_under_every_fault_lose_nothing_count_nothing_twice_and_leave_nothing(tmp_path: Path) -> None:
    report = await Soak(tmp_path / "trail.sqlite", jobs=3, minutes=60, rate=0.3).run()
    assert report.wrong == []
    assert report.missing == []
    assert report.jobs == 3
    assert report.owed > 100
    assert 0 < report.counted < report.kept == report.owed
    assert report.sound, report.trail
    assert report.start is not None
    assert report.end is not None
    assert report.end.loose == report.start.loose
    assert table(report)[1]


async def test_a_program_that_loses_one_reading_is_found_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    tampered(monkeypatch, times=0)
    report = await Soak(tmp_path / "trail.sqlite", jobs=1, minutes=60, rate=0).run()
    assert [each for each in report.wrong if "1 times, the trail holds it 0 + 0 times" in each]
    assert not table(report)[1]


async def test_a_program_that_takes_one_reading_twice_is_found_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tampered(monkeypatch, times=2)
    report = await Soak(tmp_path / "trail.sqlite", jobs=1, minutes=60, rate=0).run()
    assert [each for each in report.wrong if "1 times, the trail holds it 2 + 0 times" in each]


async def test_a_gauge_whose_messages_come_twice_is_put_off_and_on_and_none_of_them_counts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def doubled(self: Faults) -> None:
        link = link_of(self.site.tools.text)
        if link is not None and not link.doubled:
            link.doubled = True
            self.injected["doubled"] += 1

    make = Tools.__init__

    def made(self: Tools, clock: Pace, measure: Callable[[], Decimal]) -> None:
        make(self, clock, measure)
        self.calipers = (self.text,)

    monkeypatch.setattr(Faults, "before_prompt", doubled)
    monkeypatch.setattr(Tools, "__init__", made)
    report = await Soak(tmp_path / "trail.sqlite", jobs=1, minutes=60, rate=0).run()
    assert report.wrong == []
    assert report.injected["doubled"] > 1
    assert (report.closed, report.kept) == (1, report.owed)


def tampered(monkeypatch: pytest.MonkeyPatch, times: int) -> None:
    """Let the bench take the third reading so many times."""
    take, seen = Arrivals.take, Counter[str]()

    async def taken(self: Arrivals, arrival: Arrival) -> None:
        seen["readings"] += isinstance(arrival, ToolReading)
        third = isinstance(arrival, ToolReading) and seen["readings"] == 3
        for _ in range(times if third else 1):
            await take(self, arrival)

    monkeypatch.setattr(Arrivals, "take", taken)


# --- the ledger -----------------------------------------------------------------------------------------------------


def reading(raw: str, *, counts: bool = True, aside: ev.SetAside = "", tool: str = "C") -> ev.ReadingTaken:
    return ev.ReadingTaken(
        answers=SLOT if counts else None,
        set_aside=aside,
        tool=tool,
        tool_kind="caliper",
        quantity="length",
        value="1.00",
        unit="mm",
        source="sig",
        raw=raw,
        received=AT,
    )


def pull(raw: str, trace: tuple[str, ...] = CURVE, invalid: str = "") -> ev.PullTaken:
    return ev.PullTaken(
        answers=SLOT,
        touches=SLOT,
        tool="W",
        unit="N·m",
        source="sig",
        own_peak="98.00",
        host_peak="98.00",
        invalid=invalid,
        trace=tuple((10 * n, text) for n, text in enumerate(trace)),
        raw=raw,
        received=AT,
    )


def frame(raw: str, reason: str = "It has 1 octet.", tool: str = "C") -> ev.FrameUndecoded:
    return ev.FrameUndecoded(tool=tool, characteristic="", raw=raw, reason=reason, received=AT)


def account(*pressed: str, tool: str = "C") -> Account:
    book = Account()
    book.sent[tool].owed.update(pressed)
    book.sent[tool].presses.update(pressed)
    return book


def wrong(book: Account, *events: ev.Event) -> str:
    return "; ".join(compare(book, events, CUTS, NAMES).wrong)


def test_what_agrees_is_right_whatever_each_frame_was_taken_for() -> None:
    book = account("01", "02", "03")
    book.sent["C"].owed.update(["02", "de"])
    book.sent["C"].echoes.update(["02"])
    kept = (reading("01"), reading("02"), reading("02", counts=False, aside="duplicate"), frame("de"))
    late = frame("03", "It came over a link that had ended already.", tool="Bench caliper")
    found = compare(book, [*kept, late], CUTS, NAMES)
    assert found.wrong == ()
    assert (found.kept, found.counted) == (5, 2)


def test_a_reading_that_is_lost_shows() -> None:
    assert "sent 02 1 times, the trail holds it 0 + 0 times" in wrong(account("01", "02"), reading("01"))


def test_a_reading_kept_twice_shows() -> None:
    assert "sent 01 1 times, the trail holds it 2 + 0" in wrong(
        account("01"), reading("01"), reading("01", counts=False)
    )


def test_a_reading_that_nobody_sent_shows() -> None:
    assert "sent 07 0 times, the trail holds it 1 + 0" in wrong(account("01"), reading("01"), reading("07"))


def test_an_echo_that_counts_shows() -> None:
    book = account("01")
    book.sent["C"].owed.update(["01"])
    book.sent["C"].echoes.update(["01"])
    said = wrong(book, reading("01"), reading("01"))
    assert "pressed 1 times for 01, which counts 2 times" in said
    assert "again 1 times, marked are 0" in said


def test_a_reading_from_the_memory_of_a_tool_that_counts_shows() -> None:
    book = Account()
    book.sent["C"].owed.update(["55"])
    assert wrong(book, reading("55", counts=False, aside="old")) == ""
    assert "pressed 0 times for 55, which counts 1 times" in wrong(book, reading("55"))


def test_frames_that_never_arrived_have_to_be_told() -> None:
    book = account("05")
    book.sent["C"].missed = 2
    assert "lost 2 frames on the way, told are 0" in wrong(book, reading("05"))
    told = frame("05", "Frames before this one did not arrive: 2, by its counter; measure again what is missing.")
    assert wrong(book, reading("05"), told) == ""


def pulled(*raws: str) -> Account:
    book = account(*raws, tool="W")
    for _ in raws:
        book.sent["W"].samples += CURVE
    return book


def test_pulls_are_kept_with_the_samples_that_were_streamed() -> None:
    assert wrong(pulled("aa", "bb"), pull("aa"), pull("bb")) == ""
    assert "is not what was streamed" in wrong(pulled("aa"), pull("aa", ("0.01", "20.00", "98.00")))


def test_one_pull_kept_twice_shows_by_its_samples_even_where_its_peak_is_not_sent() -> None:
    book = pulled("aa")
    twice = [pull("aa"), pull("", invalid="the stream ended inside the pull")]
    assert "is not what was streamed" in wrong(book, *twice)


def test_a_pull_that_counts_without_its_own_peak_shows() -> None:
    assert "which counts 1 times" in wrong(pulled(), pull("", trace=()))


def test_a_message_in_two_notifications_is_owed_by_its_parts() -> None:
    book = account("0102", "03", tool="T")
    assert wrong(book, reading("010203", tool="T")) == ""
    assert wrong(book, frame("0102", tool="T"), frame("03", tool="T")) == ""
    assert "sent 03 1 times, the trail holds it 0 + 0" in wrong(book, frame("0102", tool="T"))


def test_a_message_whose_parts_came_twice_is_kept_whole_and_never_a_reading() -> None:
    book = account("0102", "03", tool="T")
    for each in ("0102", "03"):
        book.sent["T"].owed[each] += 1
        book.sent["T"].echoes[each] += 1
    assert wrong(book, frame("0102010203", tool="T"), frame("03", tool="T")) == ""
    assert "sent 03 2 times, the trail holds it 0 + 1" in wrong(book, frame("0102010203", tool="T"))
    taken = wrong(book, reading("0102010203", tool="T"), frame("03", tool="T"))
    assert "sent 0102 again 1 times, marked are 0" in taken


def test_what_is_on_its_way_lands_by_parts_and_what_is_told_as_lost() -> None:
    flight, at = Flight(CUTS), Stamp(0, 0)
    for _ in range(2):
        flight.sent("T")
    flight.heard("T", ToolReading("T", "length", "1", "mm", "sig", "010203", at))
    assert flight.landed
    for _ in range(5):
        flight.sent("W")
    flight.heard("W", Undecoded("W", "", "de", "It has 1 octet.", at))
    assert str(flight) == "W 4"
    flight.heard("W", ToolState("W", "", Link.READY, at, message="4 frames were lost because they came too fast."))
    assert flight.landed


# --- the figures ----------------------------------------------------------------------------------------------------


def test_the_slope_is_by_least_squares_per_hundred_jobs() -> None:
    assert slope([(0, 10), (100, 20), (200, 30)]) == pytest.approx(10)
    assert slope([(0, 10), (100, 30), (200, 20)]) == pytest.approx(5)
    assert slope([(7, 10)]) == 0


def test_the_rise_is_from_the_first_third_to_the_last() -> None:
    assert rise([10, 11, 90, 50, 50, 50, 30, 31, 32]) == 20
    assert rise([1, 2]) == 0


def looked(jobs: int, rss_kib: int, files: int = 9) -> Held:
    return Held(jobs, rss_kib, 200_000, tasks=1, files=files, threads=1)


def soaked(**but: object) -> Report:
    report = Report(jobs=1000, sound=True, start=looked(0, 40_000), end=looked(1000, 60_000))
    report.held = [looked(jobs, 60_000) for jobs in range(100, 1001, 100)]
    for name, value in but.items():
        setattr(report, name, value)
    return report


def test_the_table_holds_only_where_every_line_does() -> None:
    assert table(soaked())[1]
    growing = [looked(jobs, 60_000 + 20 * jobs) for jobs in range(100, 1001, 100)]
    leaking = [replace(looked(jobs, 60_000), blocks=5 * jobs) for jobs in range(100, 1001, 100)]
    for but in (
        {"wrong": ["j1: C sent 01 1 times"]},
        {"sound": False},
        {"missing": ["flood"]},
        {"held": growing},
        {"held": leaking},
        {"end": looked(1000, 60_000, files=10)},
    ):
        lines, holds = table(soaked(**but))
        assert not holds
        assert any("DOES NOT HOLD" in line for line in lines)

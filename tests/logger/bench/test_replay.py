from dataclasses import replace
from fractions import Fraction
from itertools import islice, pairwise
from pathlib import Path

import pytest

from logger import events as ev
from logger.bench.moment import Moment
from logger.bench.replay import differences, local_time, margin_text, moments, opening, origin, pause, retold
from logger.errors import BadInput, TrailDamaged
from logger.job.judged import Judged
from logger.pulls.figures import figures_of
from logger.shelf.shelf import load_job, records
from tests.logger.pulls.torque import PLAIN, hand, line, one, stream
from tests.played import ADJUSTED, AS_FOUND, SIDES_UNEVEN, SLACK_HIGH, WHOLE, play


@pytest.mark.parametrize(
    ("utc", "offset", "expected"),
    [
        ("2026-01-05T23:30:00.123456Z", "+01:00", "2026-01-06 00:30:00.123+01:00"),
        ("2026-01-05T23:30:00.000000Z", "+00:00", "2026-01-05 23:30:00.000+00:00"),
        ("2026-01-05T00:10:00.000000Z", "-03:30", "2026-01-04 20:40:00.000-03:30"),
        ("2026-01-05T23:30:00.000000Z", "+05:45", "2026-01-06 05:15:00.000+05:45"),
        ("yesterday", "+01:00", "yesterday (+01:00)"),
        ("2026-01-05T23:30:00.000000Z", "CET", "2026-01-05T23:30:00.000000Z (CET)"),
        ("2026-01-05T23:30:00.000000Z", "+99:00", "2026-01-05T23:30:00.000000Z (+99:00)"),
    ],
)
def test_local_time_needs_only_the_stored_offset(utc: str, offset: str, expected: str) -> None:
    assert local_time(utc, offset) == expected


async def test_the_last_moment_is_the_job_as_loaded(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    await play(path, [*AS_FOUND, *SLACK_HIGH])
    job, found = load_job(path, "j1")
    replayed = list(moments(found))
    assert [moment.record for moment in replayed] == list(found)
    assert replayed[-1].job == job


async def test_replay_finds_what_was_shown(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    await play(path, WHOLE)
    before, seen = None, 0
    for moment in moments(records(path, "j1")):
        assert differences(before, moment) == ()
        before, seen = moment, seen + 1
    assert before is not None
    assert before.job.closed
    assert seen > len(WHOLE)


async def test_a_record_that_was_shown_otherwise_is_told(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    await play(path, [*AS_FOUND, *SLACK_HIGH, *SIDES_UNEVEN, *ADJUSTED])
    found = list(moments(records(path, "j1")))
    before, moment = next((a, b) for a, b in pairwise(found) if b.record.shown.verdicts.get("wear") == "inside")
    shown = moment.record.shown.model_copy(update={"verdicts": {"wear": "low"}, "prompt": "close:"})
    other = type(moment)(
        moment.job,
        moment.verdicts,
        moment.prompt,
        moment.plan,
        moment.record.model_copy(update={"shown": shown}),
        moment.said,
    )
    assert differences(before, other) == (
        "wear was shown as low, now it is inside: inside, 101.8 mm, margin +0.5 mm",
        f"the prompt was close:, now it is {moment.prompt.key}: the first thing that its checks leave open",
    )


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"host_peak": "9.99"}, "the largest value of the pull is stored as 9.99, its trace gives 98.00 (N·m)"),
        ({"first_peak": "9.99"}, "the click of the pull is stored as 9.99, its trace gives none (N·m)"),
        (
            {"figures": ev.PullFigures(start="2", rest="3")},
            "the trace of the pull cannot be read again: A pull cannot begin at 2 N·m and be released below 3.",
        ),
        ({"unit": "mm"}, "the trace of the pull cannot be read again: N·m is a torque and mm is a length: they do not"),
        ({"trace": ()}, ""),
        ({"figures": None}, ""),
    ],
)
async def test_a_pull_is_found_anew_in_its_trace(tmp_path: Path, changed: dict[str, object], said: str) -> None:
    path = tmp_path / "trail.sqlite"
    await play(path, WHOLE)
    found = list(moments(records(path, "j1")))
    before, moment = next((a, b) for a, b in pairwise(found) if isinstance(b.record.event, ev.PullTaken))
    assert differences(before, _pulled(moment, {})) == ()
    told = "; ".join(differences(before, _pulled(moment, changed)))
    assert told.startswith(said) if said else told == ""


def _pulled(moment: Moment, changed: dict[str, object]) -> Moment:
    """The moment of a pull with the trace of a hand that clicked at 98, and what is changed of it."""
    pull, sent = moment.record.event, one(stream(hand(top=98)))
    stored = {
        "host_peak": sent.maximum_text,
        "first_peak": None,
        "unit": "N·m",
        "trace": sent.trace,
        "figures": figures_of(PLAIN),
    }
    return replace(
        moment, record=moment.record.model_copy(update={"event": pull.model_copy(update={**stored, **changed})})
    )


async def test_a_click_before_the_largest_value_is_found_anew_too(tmp_path: Path) -> None:
    """Ninety, a click of a sixth, then on to 105: a stored click that was left out, or made up, is told."""
    path = tmp_path / "trail.sqlite"
    await play(path, WHOLE)
    before, moment = next((a, b) for a, b in pairwise(moments(records(path, "j1"))) if _is_pull(b))
    sent = one(stream(line((0, 0), (100, 0), (400, 90), (410, 75), (700, 105), (800, 0), (1200, 0))))
    assert sent.first_peak < sent.maximum
    stored: dict[str, object] = {
        "trace": sent.trace,
        "host_peak": sent.maximum_text,
        "first_peak": sent.first_peak_text,
    }
    assert differences(before, _pulled(moment, stored)) == ()
    left_out = _pulled(moment, {**stored, "first_peak": None})
    said = f"the click of the pull is stored as none, its trace gives {sent.first_peak_text} (N·m)"
    assert differences(before, left_out) == (said,)


def _is_pull(moment: Moment) -> bool:
    return isinstance(moment.record.event, ev.PullTaken)


async def test_a_job_without_its_opening_is_damage(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    await play(path, AS_FOUND)
    headless = list(records(path, "j1"))[1:]
    with pytest.raises(TrailDamaged, match="does not begin with its opening"):
        list(moments(headless))
    with pytest.raises(TrailDamaged, match="does not begin with its opening"):
        opening(headless[0])


@pytest.mark.parametrize(
    ("unit", "why", "remedy"),
    [
        ("furlong", "Unknown unit 'furlong'.", "Allowed: mm"),
        ("N·m", "mm is a length and N·m is a torque: they do not convert.", "Use one of: N·m"),
    ],
)
async def test_a_unit_that_cannot_be_is_told_with_its_event_after_all_before_it(
    tmp_path: Path, unit: str, why: str, remedy: str
) -> None:
    path = tmp_path / "trail.sqlite"
    await play(path, [*AS_FOUND, *SLACK_HIGH])
    found = list(records(path, "j1"))
    at = next(n for n, each in enumerate(found) if isinstance(each.event, ev.ReadingTaken))
    found[at] = found[at].model_copy(update={"event": found[at].event.model_copy(update={"unit": unit})})
    replayed = moments(found)
    assert [moment.record for moment in islice(replayed, at)] == found[:at]
    with pytest.raises(BadInput) as refused:
        next(replayed)
    assert refused.value.message == f"With event {at + 1} job j1 can no longer be judged: {why}"
    assert refused.value.remedy.startswith(remedy)


async def test_a_difference_is_laid_to_the_program_where_it_is_another(tmp_path: Path) -> None:
    await play(tmp_path / "trail.sqlite", AS_FOUND[:1])
    opened = opening(next(iter(records(tmp_path / "trail.sqlite", "j1"))))
    assert "the rules may be others" in origin(opened, "evenhand 9")
    same = origin(opened, opened.program)
    assert same.startswith(f"A program of the same number, {opened.program}, wrote the job: a rule was changed")
    assert same.endswith("or what it stored as shown is not what its events give.")


@pytest.mark.parametrize(
    ("later", "seconds"),
    [
        ({"utc": "2026-01-05T23:00:00Z", "mono_us": 7_500_000}, 2.5),  # the clock was put back: the running one tells
        ({"utc": "2026-01-05T23:31:40Z", "mono_us": 1, "boot": "other"}, 99.0),  # the host was started again
        ({"utc": "2026-01-05T23:31:40Z", "mono_us": 6_000_000, "boot": "other"}, 99.0),  # and has run for longer since
        ({"utc": "2026-01-05T23:31:40Z", "mono_us": 1}, 99.0),  # the running clock went back: it is none
        ({"utc": "2026-01-05T20:00:00Z", "mono_us": 1, "boot": "other"}, 0.0),
        ({"utc": "later", "mono_us": 1, "boot": "other"}, 0.0),
        ({"utc": "2026-01-05T23:31:40", "mono_us": 1, "boot": "other"}, 0.0),
    ],
)
async def test_a_pause_is_told_by_the_clock_that_can(tmp_path: Path, later: dict[str, object], seconds: float) -> None:
    await play(tmp_path / "trail.sqlite", AS_FOUND[:1])
    first = next(iter(records(tmp_path / "trail.sqlite", "j1")))
    at = {"utc": "2026-01-05T23:30:01Z", "mono_us": 5_000_000, "boot": "this"}
    before = first.model_copy(update=at)
    assert pause(before, before.model_copy(update=later)) == seconds


@pytest.mark.parametrize(
    ("text", "margin", "said"),
    [
        ("45", Fraction(7), "+7 mm"),
        ("38.0", Fraction(2), "+2.0 mm"),
        ("39.99", Fraction(1, 100), "+0.01 mm"),
        ("≈ 41.5", Fraction(-3, 2), "-1.5 mm"),
    ],
)
def test_a_margin_has_the_digits_of_its_value(text: str, margin: Fraction, said: str) -> None:
    told = margin_text(Judged("slack", "inside", text=text, unit="mm", margin=margin))
    assert told == said


@pytest.mark.parametrize(
    ("event", "said"),
    [
        (
            ev.Reviewed(
                tool="TW-1",
                error="+3%",
                since="2026-01-01",
                changed=(ev.Verdicts(check="axle_nut", was="inside", now="low"),),
                call_back=True,
            ),
            "Reviewed: TW-1 was found to read wrong by +3% since 2026-01-01: axle_nut inside -> low; "
            "the machine is called back",
        ),
        (
            ev.Reviewed(tool="TW-1", error="+3%", since="", changed=(), call_back=False),
            "Reviewed: TW-1 was found to read wrong by +3%: no verdict changes",
        ),
        (
            ev.ToolDescribed(
                tool="TW-1", tool_kind="torque wrench", stated_by="toolbook", accuracy="4 %", due="2027-01-01"
            ),
            "Stated of TW-1 (torque wrench) by the toolbook: accuracy ± 4 %, calibration due 2027-01-01",
        ),
        (
            ev.ToolDescribed(tool="tape", tool_kind="tape", stated_by="program"),
            "Stated of tape by the program: no figures",
        ),
    ],
)
def test_what_was_shown_without_words_is_retold(event: ev.Event, said: str) -> None:
    assert retold(event) == said

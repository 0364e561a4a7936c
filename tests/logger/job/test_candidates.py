"""Which tools would serve a sheet, the fittest first, and where a person has to say which one is used."""

import pytest

from logger import events as ev
from logger.job.candidates import Need, needs, used
from logger.job.picked import tools_picked
from tests.logger.walk import SMALL, described, sheet_of, shipped, small

CALIPER = {"accuracy": "0.03 mm", "resolution": "0.01 mm"}
JAWS, SPARE = (described(name, "caliper", **CALIPER) for name in ("jaws", "spare"))
LATE = described("late", "caliper", due="2026-01-31", **CALIPER)
ROUGH = described("rough", "caliper", accuracy="0.1 mm", resolution="0.2 mm")
LEVER, SMALLER = described("lever"), described("smaller")
DAY = "2026-03-02"
SHEET = sheet_of(SMALL)


def _need(key: str, *tools: ev.ToolDescribed, last: dict[str, str] | None = None) -> Need:
    return next(need for need in needs(SHEET, tools, DAY, last=last) if need.key == key)


def _names(need: Need) -> list[str]:
    return [each.tool for each in need.candidates]


def test_a_sheet_needs_each_kind_of_length_tool_once_and_a_wrench_for_each_torque_step() -> None:
    found = needs(shipped(), ())
    assert (found[0].uses, found[-2].uses) == (
        "Chain wear over 8 pitches; Chain slack, middle of lower run; Axle position, left and right",
        "90 N·m to 106 N·m",
    )
    assert [(need.key, need.title, need.steps) for need in found] == [
        ("caliper", "caliper", ("wear", "slack", "sides")),
        ("depth gauge", "depth gauge", ("slack", "sides")),
        ("rule", "rule", ("slack",)),
        ("tape", "tape", ("slack",)),
        ("axle_nut", "Axle nut", ("axle_nut",)),
        ("lock_nuts", "Adjuster lock nuts", ("lock_nuts",)),
    ]


@pytest.mark.parametrize(
    ("tools", "asks"),
    [
        ((), False),
        ((JAWS,), False),
        ((JAWS, SPARE), True),
        ((JAWS, LEVER), False),
        ((JAWS, LATE), False),
        ((LATE, described("older", "caliper", due="2025-01-31", **CALIPER)), True),
    ],
    ids=["none", "one", "two", "one of each kind", "one that is fit", "none that is fit"],
)
def test_only_where_more_than_one_would_do_is_there_a_question(tools: tuple[ev.ToolDescribed, ...], asks: bool) -> None:
    assert _need("caliper", *tools).asks is asks


def test_the_fittest_comes_first_and_of_equal_ones_that_of_last_time() -> None:
    assert _names(_need("caliper", LATE, ROUGH, JAWS, SPARE)) == ["jaws", "spare", "rough", "late"]
    assert _names(_need("caliper", LATE, ROUGH, JAWS, SPARE, last={"gap": "spare"})) == [
        "spare",
        "jaws",
        "rough",
        "late",
    ]
    assert _names(_need("caliper", JAWS, LATE, last={"gap": "late"})) == ["jaws", "late"]


def test_what_speaks_against_a_tool_stands_with_it_in_a_word_and_in_a_sentence() -> None:
    *_, rough, late = _need("caliper", LATE, ROUGH, JAWS).candidates
    assert [doubt.word for doubt in late.doubts] == ["calibration overdue"]
    assert not late.is_fit
    assert [(doubt.word, doubt.bars) for doubt in rough.doubts] == [("coarse", False)]
    assert rough.doubts[0].said.startswith("Bearing position, agreement with rough: steps of 0.2 mm")


def test_wrenches_are_wanted_by_torque_step_and_weighed_by_its_window_alone() -> None:
    need = _need("bolts", LEVER, SMALLER, last={"bolts": "smaller"})
    assert (_names(need), need.asks, need.title) == (["smaller", "lever"], True, "Bearing bolts")


def test_what_was_used_is_what_was_read_with_last_else_what_was_picked() -> None:
    walk = small()
    walk.say(tools_picked(walk.job, "", [ev.Pick(tool="jaws", tool_kind="caliper", steps=("gap", "ends"))]))
    walk.confirm().say(ev.ToolDeclared(tool="spare", tool_kind="caliper")).read("32.0 mm", tool="spare")
    assert used(walk.job) == {"gap": "spare", "ends": "jaws"}
    assert used(small(upto="close").job) == {"gap": "C1", "ends": "C1"}


def test_the_wrench_whose_values_are_worth_more_comes_first_whatever_its_steps_and_name() -> None:
    """U at 98 N·m: 4 % with steps of 0.1 gives 4.5, 3 % with steps of 0.5 gives 3.4 (GUM 4.3.7: half a width by √3)."""
    fine = described("a-small", accuracy="4 %", resolution="0.1 N·m")
    good = described("lever", accuracy="3 %", resolution="0.5 N·m")
    unstated = ev.ToolDescribed(tool="a-clicker", tool_kind="torque wrench", stated_by="toolbook")
    need = next(each for each in needs(shipped(), (unstated, fine, good), DAY) if each.key == "axle_nut")
    assert _names(need) == ["lever", "a-small", "a-clicker"]
    small_u, good_u = (
        next(each.worth for each in need.candidates if each.tool == name) for name in ("a-small", "lever")
    )
    assert small_u is not None
    assert good_u is not None
    assert small_u * 16 == pytest.approx(4.5, abs=0.05)
    assert good_u * 16 == pytest.approx(3.4, abs=0.05)
    assert need.candidates[-1].worth is None
    last = needs(shipped(), (fine, good), DAY, last={"axle_nut": "a-small"})
    assert _names(next(each for each in last if each.key == "axle_nut")) == ["lever", "a-small"]

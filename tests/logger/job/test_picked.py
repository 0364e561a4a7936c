"""Tools that were picked before a job: whose a typed reading is, and which other tools do not answer for them."""

import pytest

from drivers.profile.values import TypedValue
from drivers.reading import Stamp
from logger import events as ev
from logger.bench.typedby import read_line
from logger.errors import BadInput
from logger.job import words
from logger.job.happened import happened
from logger.job.picked import tools_picked
from logger.job.prompt import Prompt
from logger.job.zeroed import to_check
from tests.logger.walk import Walk, sheet_of, small

from .zeroing import zeroed_sheet

JAWS = ev.Pick(tool="jaws", tool_kind="caliper", steps=("gap", "ends"))
LEVER = ev.Pick(tool="lever", tool_kind="torque wrench", steps=("bolts",))
BIG = ev.ToolDeclared(tool="big", tool_kind="torque wrench")
OFF = ev.ToolDeclared(tool="typed", tool_kind="")


def _picked(*picks: ev.Pick) -> Walk:
    walk = small()
    return walk.say(tools_picked(walk.job, "Kim", picks or (JAWS, LEVER))).confirm()


def _loose() -> Walk:
    walk = _picked().read("45.0 mm", "32.0 mm", "32.0 mm", tool="jaws").confirm().turned().confirm()
    return walk.read("32.0 mm", "32.0 mm", "32.0 mm", tool="jaws")


def _reading(walk: Walk) -> tuple[str, str, str]:
    event = walk.last
    assert isinstance(event, ev.ReadingTaken)
    return event.tool, event.tool_kind, event.set_aside


def _pull(walk: Walk) -> tuple[str, bool, str]:
    event = walk.last
    assert isinstance(event, ev.PullTaken)
    return event.tool, event.answers is not None, event.set_aside


def test_a_typed_length_and_a_typed_torque_are_each_of_the_tool_picked_for_the_step() -> None:
    assert _reading(_picked().read("32.0 mm", tool="typed", kind="", source="typed")) == ("jaws", "caliper", "")
    pulled = _loose().read("40 N·m", tool="typed", kind="", source="typed")
    assert _pull(pulled) == ("lever", True, "")
    assert isinstance(pulled.last, ev.PullTaken)
    assert pulled.last.how == "measured"  # the wrench that was picked indicates


def test_what_is_typed_at_a_step_of_another_quantity_is_of_no_tool() -> None:
    assert _pull(_picked().read("40 N·m", tool="typed", kind="", source="typed"))[0] == "typed"
    assert _reading(_loose().read("32.0 mm", tool="typed", kind="", source="typed"))[0] == "typed"


def test_where_two_kinds_were_picked_nobody_can_tell_which_it_was() -> None:
    depth = ev.Pick(tool="foot", tool_kind="caliper", steps=("gap",))
    walk = _picked(JAWS, depth).read("32.0 mm", tool="typed", kind="", source="typed")
    assert _reading(walk) == ("typed", "", "")


def test_another_tool_of_the_kind_is_kept_and_set_aside_and_the_picked_one_counts() -> None:
    walk = _picked().read("32.0 mm", tool="spare")
    assert _reading(walk) == ("spare", "caliper", "other tool")
    assert happened(walk.job, walk.last) == (
        "32.0 mm from spare: another tool was picked for this: kept, does not count"
    )
    assert walk.key == "measure:gap"
    assert _reading(walk.read("32.0 mm", tool="jaws")) == ("jaws", "caliper", "")


def test_without_a_pick_for_the_step_any_tool_of_the_kind_counts() -> None:
    assert _reading(_picked(LEVER).read("32.0 mm", tool="spare")) == ("spare", "caliper", "")


def test_a_pull_of_another_wrench_answers_nothing_and_still_moved_the_fastener() -> None:
    walk = _loose().pull("40 N·m")
    assert _pull(walk) == ("W1", False, "other tool")
    assert walk.verdict("bolts.left") == "waiting"
    assert walk.key == "slacken:bolts.left"
    assert happened(walk.job, walk.last) == (
        "Pull of 40 N·m (Bearing bolts, left), another wrench was picked for this: it does not count, but it disturbs"
    )
    reason = walk.verdicts["bolts.left"].reason
    assert reason.startswith("tight by a pull that does not count (another wrench was picked for it)")


def test_a_peak_of_another_wrench_answers_nothing_either() -> None:
    assert _pull(_loose().pull("40 N·m", alone=True)) == ("W1", False, "other tool")


def test_a_tool_named_since_counts_as_well_and_typed_readings_are_its_own() -> None:
    walk = _picked().say(ev.ToolDeclared(tool="spare", tool_kind="caliper"))
    assert _reading(walk.read("32.0 mm", tool="spare")) == ("spare", "caliper", "")
    walk = _picked().say(ev.ToolDeclared(tool="spare", tool_kind="caliper"))
    assert _reading(walk.read("32.0 mm", tool="typed", kind="", source="typed"))[0] == "spare"
    walk = _loose().say(ev.ToolDeclared(tool="spare", tool_kind="caliper"))
    assert _pull(walk.read("40 N·m", tool="typed", kind="", source="typed")) == ("lever", True, "")


def test_off_leads_back_to_what_was_picked_and_says_so() -> None:
    walk = _picked().say(ev.ToolDeclared(tool="spare", tool_kind="caliper")).say(OFF)
    assert happened(walk.job, walk.last) == (
        "Typed readings come from what was picked: jaws (caliper); lever (torque wrench)"
    )
    assert _reading(walk.read("32.0 mm", tool="spare"))[2] == "other tool"
    assert _reading(walk.read("32.0 mm", tool="typed", kind="", source="typed")) == ("jaws", "caliper", "")


def test_a_wrench_that_is_named_is_for_torques_and_leaves_the_lengths_to_the_caliper_that_was_picked() -> None:
    walk = _picked().say(BIG)
    assert happened(walk.job, walk.last) == (
        "Typed torques come from: big (torque wrench); lengths from: jaws (caliper)"
    )
    assert _reading(walk.read("32.0 mm", tool="typed", kind="", source="typed")) == ("jaws", "caliper", "")
    assert _pull(_loose().say(BIG).read("40 N·m", tool="typed", kind="", source="typed")) == ("big", True, "")


def test_where_a_caliper_was_picked_for_another_step_a_length_beside_a_named_wrench_is_of_no_tool() -> None:
    walk = _picked(JAWS.model_copy(update={"steps": ("ends",)})).say(BIG)
    assert _reading(walk.read("32.0 mm", tool="typed", kind="", source="typed")) == ("typed", "", "")


def test_a_wrench_that_is_named_where_no_caliper_was_picked_is_refused_for_lengths() -> None:
    walk = _picked(LEVER).say(BIG)
    assert happened(walk.job, walk.last) == "Typed readings come from: big (torque wrench)"
    assert _reading(walk.read("32.0 mm", tool="typed", kind="", source="typed")) == (
        "big",
        "torque wrench",
        "wrong tool",
    )


def test_the_prompt_names_the_tool_that_was_named_since() -> None:
    walk = _loose().say(BIG)
    assert "With: torque wrench big" in words.detail(walk.job, walk.prompt)
    walk.say(OFF)
    assert "With: torque wrench lever" in words.detail(walk.job, walk.prompt)
    walk = _picked().say(ev.ToolDeclared(tool="spare", tool_kind="caliper"))
    assert "With: caliper spare, or typed with its unit" in words.detail(walk.job, walk.prompt)
    walk.say(ev.ToolDeclared(tool="caliper", tool_kind="caliper"))
    assert "With: caliper, or typed with its unit" in words.detail(walk.job, walk.prompt)


def test_where_two_that_were_picked_fit_a_step_the_prompt_asks_to_say_which() -> None:
    foot = ev.Pick(tool="foot", tool_kind="caliper", steps=("gap",))
    walk = _picked(JAWS, foot)
    assert any(
        each.endswith("; typed: say with jaws or with foot first") for each in words.detail(walk.job, walk.prompt)
    )
    walk.say(ev.ToolDeclared(tool="foot", tool_kind="caliper"))
    assert "With: caliper foot, or typed with its unit" in words.detail(walk.job, walk.prompt)
    assert _reading(walk.read("32.0 mm", tool="typed", kind="", source="typed")) == ("foot", "caliper", "")
    bar = ev.Pick(tool="bar", tool_kind="torque wrench", steps=("bolts",))
    walk = _picked(LEVER, bar)
    said = words.detail(walk.job, Prompt("torque", "bolts", "left"))
    assert "With: torque wrench lever or torque wrench bar; typed: say with lever or with bar first" in said


def test_a_wrench_that_is_named_changes_nothing_of_how_the_picked_caliper_types() -> None:
    fixed = TypedValue(decode="typed", pattern="{number}", picture="+0000.00", unit="mm")
    who, walk = {"jaws": fixed}, _picked().say(BIG)
    assert read_line(walk.job, who.get, "+0032.10", Stamp(1, 1), step="gap").text == "32.10"
    walk.say(OFF)
    assert read_line(walk.job, who.get, "32.1 mm", Stamp(1, 1), step="gap").text == "32.1"


def test_a_torque_that_nothing_asks_for_is_of_the_wrench_picked_for_the_fastener_it_is_put_to() -> None:
    walk = _picked().read("45.0 mm", "32.0 mm", "32.0 mm", tool="jaws").confirm().turned().confirm()
    assert walk.prompt.kind == "measure"
    assert _pull(walk.read("40 N·m", tool="typed", kind="", source="typed")) == ("lever", False, "unprompted")


def test_picking_nothing_any_more_is_said_and_leaves_typed_readings_without_a_tool() -> None:
    walk = _picked()
    walk.say(tools_picked(walk.job, "Kim", ()))
    assert happened(walk.job, walk.last) == "Kim uses: no tool that was picked"
    assert _reading(walk.read("32.0 mm", tool="typed", kind="", source="typed")) == ("typed", "", "")


def test_lines_are_read_as_the_picked_tool_types_them_at_its_step() -> None:
    fixed = TypedValue(decode="typed", pattern="{number}", picture="+0000.00", unit="mm")
    who, walk = {"jaws": fixed}, _picked()
    assert read_line(walk.job, who.get, "+0032.10", Stamp(1, 1), step="gap").text == "32.10"
    assert read_line(walk.job, who.get, "40 N·m", Stamp(1, 1), step="bolts").quantity == "torque"


@pytest.mark.parametrize(
    ("pick", "said"),
    [
        (ev.Pick(tool="lever", tool_kind="torque wrench", steps=("gap",)), "No step gap takes lever"),
        (ev.Pick(tool="jaws", tool_kind="caliper", steps=("gap", "nowhere")), "No step nowhere takes jaws"),
        (ev.Pick(tool="jaws", tool_kind="caliper", steps=()), "takes jaws"),
    ],
    ids=str,
)
def test_a_tool_that_no_step_takes_cannot_be_picked(pick: ev.Pick, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        tools_picked(small().job, "", [pick])


def test_nothing_is_picked_for_a_closed_job() -> None:
    with pytest.raises(BadInput, match="closed"):
        tools_picked(small(upto="close").close().job, "", [JAWS])


def test_who_uses_what_is_one_line_each_tool_once() -> None:
    again = ev.Pick(tool="lever", tool_kind="torque wrench", steps=("bolts",))
    event = tools_picked(small().job, "", [JAWS, LEVER, again])
    assert happened(small().job, event) == "Robin uses: jaws (caliper); lever (torque wrench)"


def test_the_prompt_names_the_tool_that_was_picked() -> None:
    walk = _picked()
    assert "With: caliper jaws, or typed with its unit" in words.detail(walk.job, walk.prompt)
    assert "With: torque wrench lever" in words.detail(_loose().job, _loose().prompt)
    free = words.detail(small().job, Prompt("torque", "bolts", "left"))
    assert not any(line.startswith("With: torque") for line in free)


def test_a_zero_check_that_is_wanted_of_another_tool_is_answered_by_it() -> None:
    """A tool that was named for some readings has to be checked after them, whatever was picked."""
    walk = Walk(sheet_of(zeroed_sheet(every=2))).confirm()
    walk.say(tools_picked(walk.job, "", [ev.Pick(tool="jaws", tool_kind="caliper", steps=("zero", "gap", "ends"))]))
    assert _reading(walk.read("0.00 mm", tool="spare"))[2] == "other tool"
    walk.say(ev.ToolDeclared(tool="spare", tool_kind="caliper"))
    walk.read("0.00 mm", "32.00 mm", "36.00 mm", tool="spare")
    walk.say(ev.ToolDeclared(tool="typed", tool_kind=""))
    assert (walk.key, to_check(walk.job, walk.sheet.zeros[0])) == ("zero:zero", "spare")
    assert _reading(walk.read("0.00 mm", tool="spare")) == ("spare", "caliper", "")
    assert walk.verdict("zero") == "inside"

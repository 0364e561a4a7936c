"""What a person says of the tools in hand."""

import pytest

from logger import events as ev
from logger.bench import declare
from logger.errors import BadInput
from logger.job.happened import happened
from logger.job.prompt import Prompt
from tests.logger.walk import SMALL, Walk, answer, described, sheet_of, small

# --- the tool of typed readings ---


@pytest.mark.parametrize("said", ["tape", "Tape", "  TAPE "])
def test_a_tool_is_named_by_its_kind(said: str) -> None:
    assert declare.declared(small().job, said, None) == ev.ToolDeclared(tool="tape", tool_kind="tape")
    assert declare.kind_of("setting  wrench") == "setting wrench"


def test_a_tool_of_the_toolbook_is_named_by_its_id_and_off_names_none() -> None:
    job, known = small().job, described("TW-2")
    assert declare.declared(job, "TW-2", known) == ev.ToolDeclared(tool="TW-2", tool_kind="torque wrench")
    assert declare.declared(job, "off", None) == ev.ToolDeclared(tool="typed", tool_kind="")


def test_what_is_neither_is_refused_with_what_may_be_said() -> None:
    with pytest.raises(BadInput, match='"hammer" is no tool'):
        declare.declared(small().job, "hammer", None)
    closed = small(upto="close").close().job
    with pytest.raises(BadInput, match="closed"):
        declare.declared(closed, "tape", None)


@pytest.mark.parametrize(("kind", "step"), [("tape", "1 mm"), ("rule", "0.5 mm"), ("caliper", None)])
def test_a_tape_and_a_rule_have_the_graduation_of_their_kind(kind: str, step: str | None) -> None:
    found = declare.ruled(ev.ToolDeclared(tool=kind, tool_kind=kind))
    assert (found and found.resolution) == step
    assert found is None or found.stated_by == "program"


def test_a_typed_length_is_of_the_tool_that_was_declared() -> None:
    walk = small(upto="measure:gap").say(ev.ToolDeclared(tool="C7", tool_kind="caliper"))
    walk.read("32.0 mm", tool="typed", kind="", source="typed")
    event = walk.last
    assert isinstance(event, ev.ReadingTaken)
    assert (event.tool, event.tool_kind, event.source, event.set_aside) == ("C7", "caliper", "typed", "")
    walk.read("32.0 mm", tool="C1", kind="caliper")
    assert isinstance(walk.last, ev.ReadingTaken)
    assert walk.last.tool == "C1"


def test_a_declared_tool_that_the_step_does_not_take_is_the_wrong_one() -> None:
    walk = small(upto="measure:gap").say(ev.ToolDeclared(tool="tape", tool_kind="tape"))
    walk.read("32 mm", tool="typed", kind="", source="typed")
    assert isinstance(walk.last, ev.ReadingTaken)
    assert (walk.last.tool, walk.last.set_aside) == ("tape", "wrong tool")


def test_a_tool_that_the_prompt_does_not_take_is_refused_at_once_with_those_that_will_do() -> None:
    job, asks = small().job, Prompt("measure", "gap")
    with pytest.raises(BadInput, match=r"Belt sag is not taken with a rule\. What will do: caliper") as refused:
        declare.declared(job, "rule", None, asks)
    assert "off for none" in str(refused.value)
    with pytest.raises(BadInput, match="not taken with a setting wrench"):
        declare.declared(job, "TW-2", described("TW-2", "setting wrench"), asks)
    assert declare.declared(job, "caliper", None, asks).tool == "caliper"
    assert declare.declared(job, "off", None, asks).tool_kind == ""
    assert declare.declared(job, "rule", None, Prompt("confirm", "ready")).tool == "rule"  # for a step to come


def test_a_length_beside_a_declared_wrench_is_of_the_wrong_tool_and_a_torque_beside_a_caliper_of_none() -> None:
    walk = small(upto="measure:gap").say(ev.ToolDeclared(tool="setting wrench", tool_kind="setting wrench"))
    walk.read("32.0 mm", tool="typed", kind="", source="typed")
    assert isinstance(walk.last, ev.ReadingTaken)
    assert (walk.last.tool, walk.last.set_aside) == ("setting wrench", "wrong tool")
    pulled = small(upto="measure:gap").say(ev.ToolDeclared(tool="caliper", tool_kind="caliper"))
    pulled.read("32 N·m", tool="typed", kind="", source="typed")
    assert isinstance(pulled.last, ev.PullTaken)
    assert pulled.last.tool == "typed"


def test_the_words_for_what_was_declared() -> None:
    job = small().job
    assert happened(job, ev.ToolDeclared(tool="tape", tool_kind="tape")) == "Typed readings come from: tape"
    named = ev.ToolDeclared(tool="TW-2", tool_kind="torque wrench")
    assert happened(job, named) == "Typed readings come from: TW-2 (torque wrench)"
    none = ev.ToolDeclared(tool="typed", tool_kind="")
    assert happened(job, none) == "Typed readings come from no tool that was named"


# --- the adapter ---


@pytest.mark.parametrize(
    ("text", "step", "adapter"),
    [
        ("400 mm 40 mm", "", ev.Adapter(wrench="400 mm", extension="40 mm")),
        ("400mm 40mm 45", "", ev.Adapter(wrench="400 mm", extension="40 mm", angle=45)),
        ("400 mm, 40 mm, 45°", "", ev.Adapter(wrench="400 mm", extension="40 mm", angle=45)),
        ('12.5 in 1.25" 90 deg', "", ev.Adapter(wrench="12.5 in", extension="1.25 in", angle=90)),
        ("bolts 400 mm 40 mm 180", "bolts", ev.Adapter(wrench="400 mm", extension="40 mm", angle=180)),
        ("off", "", None),
        ("bolts off", "bolts", None),
    ],
)
def test_an_adapter_as_it_is_typed(text: str, step: str, adapter: ev.Adapter | None) -> None:
    assert declare.adapter_in(text) == (step, adapter)


@pytest.mark.parametrize(
    "text", ["", "400 40", "400 mm", "400 mm 40 N·m", "400 mm 40 kg", "400 mm -40 mm", "on", "1 2 3"]
)
def test_what_is_no_adapter_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        declare.adapter_in(text)


def test_an_adapter_is_for_the_step_asked_about_or_the_only_one_that_torques() -> None:
    adapter = ev.Adapter(wrench="400 mm", extension="40 mm")
    job = small().job
    assert declare.adapter_declared(job, Prompt("torque", "bolts", "left"), "", adapter).step == "bolts"
    assert declare.adapter_declared(job, Prompt("measure", "gap"), "", adapter).step == "bolts"
    with pytest.raises(BadInput, match='no torque step "gap"'):
        declare.adapter_declared(job, Prompt("measure", "gap"), "gap", adapter)


def test_with_two_torque_steps_it_has_to_be_said_which() -> None:
    nuts = SMALL[SMALL.index('[[step]]\nid = "bolts"') : SMALL.index('[[step]]\nid = "cap"')]
    two = SMALL.replace(nuts, nuts + nuts.replace('id = "bolts"', 'id = "nuts"'))
    job = Walk(sheet_of(two)).job
    with pytest.raises(BadInput, match="not clear which torque step"):
        declare.adapter_declared(job, Prompt("measure", "gap"), "", None)
    with pytest.raises(BadInput, match="such as: adapter bolts off"):
        declare.adapter_declared(job, Prompt("measure", "gap"), "", None)
    assert declare.adapter_declared(job, Prompt("torque", "nuts", "left"), "", None).step == "nuts"


@pytest.mark.parametrize(
    ("wrench", "extension", "angle"), [("0 mm", "40 mm", 0), ("40 mm", "40 mm", 180), ("400 mm", "40 mm", 181)]
)
def test_an_adapter_that_cannot_be_is_refused(wrench: str, extension: str, angle: int) -> None:
    adapter = ev.Adapter(wrench=wrench, extension=extension, angle=angle)
    with pytest.raises(BadInput):
        declare.adapter_declared(small().job, Prompt("torque", "bolts", "left"), "", adapter)


def test_the_words_for_an_adapter() -> None:
    walk = small(upto="measure:gap")
    on = ev.AdapterDeclared(step="bolts", adapter=ev.Adapter(wrench="400 mm", extension="40 mm", angle=45))
    said = "Adapter on the wrench: Bearing bolts, 40 mm on a wrench of 400 mm, at 45°"
    assert happened(walk.job, on) == said
    off = ev.AdapterDeclared(step="bolts", adapter=None)
    assert happened(answer(walk).job, off) == "No adapter on the wrench: Bearing bolts"

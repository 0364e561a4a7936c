"""The tools picked for a job: typed readings are theirs, and no other of their kind answers for them; pure."""

from collections.abc import Iterable
from typing import Literal

from logger import events as ev
from logger.errors import BadInput

from .facts import Job

WRENCHES = ("torque wrench", "setting wrench")


def tools_picked(job: Job, by: str, picks: Iterable[ev.Pick]) -> ev.ToolsPicked:
    """Return which tools are used for this job; BadInput when it is closed, or no step takes one of them."""
    if job.closed:
        raise BadInput("The job is closed already.", "Open the record, or start another job.")
    picks = tuple(picks)
    for pick in picks:
        unknown = [step for step in pick.steps if pick.tool_kind not in getattr(job.sheet.by_id.get(step), "tools", ())]
        if unknown or not pick.steps:
            raise BadInput(f"No step {', '.join(unknown)} takes {pick.tool}.", "Pick a tool that the sheet asks for.")
    return ev.ToolsPicked(by=by or job.by, picks=picks)


def pick_at(job: Job, step: str) -> ev.ToolDeclared | None:
    """Return the one tool that was picked for a step; None where none was, or several were and nobody can tell."""
    picks = picks_at(job, step)
    return ev.ToolDeclared(tool=picks[0].tool, tool_kind=picks[0].tool_kind) if len(picks) == 1 else None


def typed_from(job: Job, step: str, quantity: Literal["length", "torque"]) -> ev.ToolDeclared | None:
    """Return the tool that a typed reading at a step comes from: what a person said last, else what was picked for it.

    A wrench that was said is for torques, any other tool for lengths; what measures the other comes from what was
    picked for that. Where nothing was, a length is given to the declared wrench and refused as of a wrong tool, and a
    torque comes from no tool. None where it comes from no tool.
    """
    said, pick = job.typed_with, pick_at(job, step)
    if pick is not None and is_wrench(pick) != (quantity == "torque"):
        pick = None
    if said is None or not said.tool_kind or is_wrench(said) == (quantity == "torque"):
        return said if said is not None and said.tool_kind else pick
    return said if is_wrench(said) and all(is_wrench(each) for each in job.picked) else pick


def types_at(job: Job, step: str) -> ev.ToolDeclared | None:
    """Return the tool whose own way of typing holds at a step; the one that was said holds, also where it is off.

    A wrench that was said does not stand in the way of a caliper that was picked, nor the other way round.
    """
    said, pick = job.typed_with, pick_at(job, step)
    if said is None or (said.tool_kind and pick is not None and is_wrench(pick) != is_wrench(said)):
        return pick
    return said


def is_wrench(tool: ev.ToolDeclared | ev.Pick) -> bool:
    """Whether a tool is for torques."""
    return tool.tool_kind in WRENCHES


def picks_at(job: Job, step: str) -> tuple[ev.Pick, ...]:
    """Return what was picked for a step."""
    return tuple(pick for pick in job.picked if step in pick.steps)


def is_other(job: Job, step: str, tool: str, kind: str) -> bool:
    """Whether another tool of this kind was picked for a step; one that a person named since, by `with`, counts too."""
    if job.typed_with is not None and job.typed_with.tool == tool:
        return False
    return passed_over(job.picked, step, tool, kind)


def passed_over(picks: Iterable[ev.Pick], step: str, tool: str, kind: str) -> bool:
    """Whether another tool of this kind was picked for a step; any wrench pulls a fastener."""
    alike = WRENCHES if kind in WRENCHES else (kind,)
    names = [pick.tool for pick in picks if step in pick.steps and pick.tool_kind in alike]
    return bool(names) and tool not in names

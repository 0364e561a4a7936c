"""What a person says of the tools in hand: which one typed readings come from, the adapter on the wrench; pure."""

import re
from typing import get_args

from logger import events as ev
from logger.errors import BadInput
from logger.job.facts import Job
from logger.job.prompted import Prompt
from logger.job.torquepass import geometry
from logger.sheets.sheet import MeasureStep, TorqueStep, ZeroStep
from logger.sheets.written import ToolKind
from logger.units import parse_quantity

from .decide import need_open

KINDS: tuple[str, ...] = get_args(ToolKind)
RULED: dict[str, str] = {"tape": "1 mm", "rule": "0.5 mm"}
"""The graduation of what has no display: what is usual in a workshop; a toolbook may state another."""
OFF = "off"
WITH_WORDS = f"Say: with {', with '.join(KINDS)}, with the name of a tool in the toolbook, or with {OFF}."
ADAPTER_WORDS = "Say: adapter WRENCH EXTENSION ANGLE, such as adapter 400 mm 40 mm 90, or adapter off."

_LENGTH = r"[0-9]{1,6}(?:\.[0-9]{1,6})?[ \t]*[a-zA-Zµ\"'″′]+"
_ADAPTER = re.compile(
    rf"(?:(?P<step>[a-z][a-z0-9_-]*)[ \t]+)?(?P<wrench>{_LENGTH})[ \t,]+(?P<extension>{_LENGTH})"
    r"(?:[ \t,]+(?P<angle>[0-9]{1,3})[ \t]*(?:°|deg)?)?"
)
_TAKEN_OFF = re.compile(rf"(?:(?P<step>[a-z][a-z0-9_-]*)[ \t]+)?{OFF}")


# --- the tool of typed readings -------------------------------------------------------------------------------------


def kind_of(what: str) -> str | None:
    """Return the kind of tool that a person named, or None where it is no kind."""
    said = " ".join(what.lower().split())
    return said if said in KINDS else None


def declared(job: Job, what: str, known: ev.ToolDescribed | None, prompt: Prompt | None = None) -> ev.ToolDeclared:
    """Return which tool typed readings come from, from now on.

    BadInput when it is neither a kind nor known, or when the prompt asks for a reading that it may not answer.
    """
    need_open(job)
    kind = kind_of(what)
    _takes(job, prompt, kind or (known.tool_kind if known is not None else ""))
    if kind is not None:
        return ev.ToolDeclared(tool=kind, tool_kind=kind)
    if what.strip().lower() == OFF:
        return ev.ToolDeclared(tool="typed", tool_kind="")
    if known is None:
        raise BadInput(f'"{what.strip()[:40]}" is no tool that is known here.', WITH_WORDS)
    return ev.ToolDeclared(tool=known.tool, tool_kind=known.tool_kind)


def _takes(job: Job, prompt: Prompt | None, kind: str) -> None:
    """Refuse a tool that the sheet does not take for what is asked now, naming those that will do."""
    step = job.sheet.by_id.get(prompt.step) if prompt is not None and prompt.kind in ("measure", "zero") else None
    if kind and isinstance(step, MeasureStep | ZeroStep) and kind not in step.tools:
        few = " or ".join(step.tools)
        raise BadInput(f"{step.title} is not taken with a {kind}.", f"What will do: {few}. Name it, or {OFF} for none.")


def ruled(event: ev.ToolDeclared) -> ev.ToolDescribed | None:
    """Return the graduation of a tape or rule that the toolbook states nothing of; None for any other tool."""
    step = RULED.get(event.tool_kind)
    if step is None:
        return None
    return ev.ToolDescribed(tool=event.tool, tool_kind=event.tool_kind, stated_by="program", resolution=step)


# --- the adapter on the wrench --------------------------------------------------------------------------------------


def adapter_in(text: str) -> tuple[str, ev.Adapter | None]:
    """Read "400 mm 40 mm 90", or "off", each with a torque step before it or not; BadInput on anything else."""
    off = _TAKEN_OFF.fullmatch(text.strip().lower())
    if off is not None:
        return off["step"] or "", None
    found = _ADAPTER.fullmatch(text.strip())
    if found is None:
        raise BadInput(f'"{text.strip()[:40]}" does not describe an adapter.', ADAPTER_WORDS)
    lengths = [parse_quantity(found[name]) for name in ("wrench", "extension")]
    if any(length.kind != "length" for length in lengths):
        raise BadInput("An adapter has two lengths: of the wrench and of the adapter.", ADAPTER_WORDS)
    wrench, extension = (f"{length.text} {length.unit}" for length in lengths)
    return found["step"] or "", ev.Adapter(wrench=wrench, extension=extension, angle=int(found["angle"] or 0))


def adapter_declared(job: Job, prompt: Prompt, step: str, adapter: ev.Adapter | None) -> ev.AdapterDeclared:
    """Return an adapter put on or taken off; BadInput when it cannot be, or no torque step is meant."""
    need_open(job)
    geometry(adapter)
    torques = [torque.id for torque in job.sheet.torques]
    meant = step or (prompt.step if prompt.step in torques else "") or (torques[0] if len(torques) == 1 else "")
    if not isinstance(job.sheet.by_id.get(meant), TorqueStep):
        said = f'There is no torque step "{meant[:40]}".' if meant else "It is not clear which torque step is meant."
        names = ", ".join(torques) or "this sheet has none"
        rest = OFF if adapter is None else f"{adapter.wrench} {adapter.extension}"
        raise BadInput(said, f"Name one of: {names}; such as: adapter {torques[0] if torques else 'STEP'} {rest}.")
    return ev.AdapterDeclared(step=meant, adapter=adapter)

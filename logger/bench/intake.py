"""What arrives from a tool becomes an event: which prompt it answers, or why it counts for nothing. Pure."""

from dataclasses import replace

from drivers.reading import ToolReading
from drivers.typed import TYPED
from logger import events as ev
from logger.job.facts import Job
from logger.job.picked import is_other, typed_from
from logger.job.prompted import Prompt
from logger.job.zeroed import to_check
from logger.sheets.sheet import MeasureStep, ZeroStep
from logger.units import unit_of

from .asitcame import reading_taken
from .pullintake import meant, told_pull


def reading_event(job: Job, prompt: Prompt, reading: ToolReading) -> ev.ReadingTaken | ev.PullTaken:
    """Return the event for one reading; a torque, typed or from a tool that sends peaks alone, is a pull."""
    reading = _as_said(job, prompt, reading)
    if reading.quantity == "torque" and not reading.duplicate and not reading.old:
        return told_pull(job, prompt, reading)
    set_aside = _set_aside(job, prompt, reading)
    answers = None if set_aside else ev.Slot(step=prompt.step, place=prompt.place, part=prompt.part, more=prompt.more)
    return reading_taken(reading, answers, set_aside)


def _as_said(job: Job, prompt: Prompt, reading: ToolReading) -> ToolReading:
    """Give a typed reading the tool that the person said, or picked, for it."""
    said = tool_of(job, prompt, reading)
    return reading if said is None else replace(reading, tool=said.tool, kind=said.tool_kind)


def tool_of(job: Job, prompt: Prompt, reading: ToolReading) -> ev.ToolDeclared | None:
    """Return the tool that a typed reading comes from, a torque by the fastener it is put to; None where from none."""
    if reading.tool != TYPED:
        return None
    touches = meant(job, prompt)[1] if reading.quantity == "torque" else None
    return typed_from(job, touches.step if touches is not None else prompt.step, reading.quantity)


def _set_aside(job: Job, prompt: Prompt, reading: ToolReading) -> ev.SetAside:
    if job.closed:
        return "job closed"
    if reading.duplicate:
        return "duplicate"
    if reading.old:
        return "old"
    if prompt.kind in ("loosen", "turn", "seat"):
        return "look"
    step = job.sheet.by_id.get(prompt.step)
    if prompt.kind not in ("measure", "zero") or not isinstance(step, MeasureStep | ZeroStep):
        return "unprompted"
    if reading.kind and reading.kind not in step.tools:
        return "wrong tool"
    wanted = isinstance(step, ZeroStep) and reading.tool == to_check(job, step)
    if reading.source != "typed" and not wanted and is_other(job, step.id, reading.tool, reading.kind):
        return "other tool"
    kind = unit_of(reading.unit)
    return "" if kind is not None and kind[0] == reading.quantity else "wrong unit"

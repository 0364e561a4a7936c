"""The words of torques: what a prompt asks of the wrench, what became of a pull, what settles a fastener; pure."""

from decimal import Decimal
from fractions import Fraction

from logger import events as ev
from logger.sheets.sheet import TorqueStep
from logger.units import Limits, approx, approx_limits, decimals, factor, trimmed, unit_of

from .facts import Job
from .judged import Judged
from .line import Line
from .loosenagain import first_line
from .picked import is_wrench, picks_at, typed_from
from .prompted import Prompt
from .torquefit import foreseen
from .torquepass import adapter_of, aim_of, aim_on_wrench, geometry, on_wrench, passes_of, window_of

WRENCHES = frozenset({"torque wrench", "setting wrench"})
DIGITS = 2
"""Decimals of a torque that was worked out."""


def pull_headline(name: str, prompt: Prompt) -> str:
    """A fastener to be pulled, in one short line, with the pass where there is more than one."""
    return f"{name}: pull, pass {prompt.number} of {prompt.of}" if prompt.of > 1 else f"{name}: pull"


def torque_lines(job: Job, prompt: Prompt, step: TorqueStep) -> tuple[Line, ...]:
    """How to do what a torque prompt asks, with window and aim; with an adapter, at the fastener and on the wrench."""
    number = prompt.number if prompt.kind == "torque" else passes_of(step)
    last = number == passes_of(step)
    window = (*_window_lines(job, step, number), *(_wrench_lines(job, step) if last else ()))
    picked = _with_lines(job, step)
    match prompt.kind:
        case "untouched":
            return (Line(step.witness), Line("Confirm that it was not touched, or loosen it."), *window)
        case "slacken":
            first = first_line(job, step)
            then = (Line(f"Loosened, {first}: pull it only when asked.", "act"),) if first else ()
            return (Line("A torque starts from loose: loosen it."), *then, *window)
        case _ if prompt.of > 1:
            return (Line(step.ask), Line(_pass_line(number, prompt.of)), *window, *picked)
        case _:
            return (Line(step.ask), *window, *picked)


def _with_lines(job: Job, step: TorqueStep) -> tuple[Line, ...]:
    """The wrench to pull with, where one was picked: the one that what is typed comes from now."""
    picks = picks_at(job, step.id)
    wrench = typed_from(job, step.id, "torque") if picks else None
    if wrench is not None:
        return (Line(f"With: {called(wrench)}", "tool"),)
    names = " or ".join(called(each) for each in picks)
    return (Line(f"With: {names}; typed: say {which_first(picks)} first", "tool"),) if picks else ()


def called(tool: ev.ToolDeclared | ev.Pick) -> str:
    """A tool by its kind and its name, "caliper jaws"; one that goes by its kind, by that alone."""
    return tool.tool if tool.tool == tool.tool_kind else f"{tool.tool_kind} {tool.tool}"


def which_first(picks: tuple[ev.Pick, ...]) -> str:
    """What to say so that a typed reading has a tool, "with jaws or with stick"."""
    return " or ".join(f"with {each.tool}" for each in picks)


def _pass_line(number: int, of: int) -> str:
    """Where a pass begins: the first from loose, every other from where the one before left off."""
    start = f"on from pass {number - 1}, loosen nothing" if number > 1 else "from loose"
    return f"Pass {number} of {of}: {start}, each in turn{', then the next pass' if number < of else ''}."


def _window_lines(job: Job, step: TorqueStep, number: int) -> tuple[Line, ...]:
    (low, high), aim, adapter = window_of(step, number), aim_of(step, number), adapter_of(job, step)
    said = f"indow {low} to {high}, aim {aim}"
    if adapter is None:
        return (Line(f"W{said}", "window"),)
    digits = max(DIGITS, decimals(trimmed(aim.text)))
    ends = approx_limits(on_wrench((low, high), adapter, aim.unit), aim.unit, digits)
    wanted = approx(aim_on_wrench(aim, adapter, aim.unit), aim.unit, digits)
    return (
        Line(f"At the fastener: w{said}"),
        Line(f"On the wrench, with the adapter ({adapter_text(adapter)}): {ends[0]} to {ends[1]}, aim {wanted}"),
    )


def _wrench_lines(job: Job, step: TorqueStep) -> tuple[Line, ...]:
    """What stands against each wrench that takes part, and how far to pull with it to be sure."""
    lines = []
    for tool in (each.tool for each in job.tools.values() if each.tool_kind in WRENCHES):
        fit, sure = foreseen(job, step, tool)
        if fit.refusal:
            lines.append(f"Not with {tool}: {fit.refusal}.")
        elif sure is None:
            lines.append(f"Not with {tool}: it cannot tell any torque in this window.")
        elif job.sheet.decision == "guarded":
            lines.append(f"To be sure with {tool}: {_sure(step, sure)} at the fastener")
        lines += [f"Mind: {warning}." for warning in fit.warnings]
    return (*unweighed_lines(job, step), *map(Line, lines))


def _sure(step: TorqueStep, sure: Limits) -> str:
    """From where to where a pull is sure to pass, at the ends that are guarded: the other one is a coin's toss."""
    low, high = approx_limits(sure, step.aim.unit, max(1, decimals(trimmed(step.aim.text))))
    return {"low": f"at least {low}", "high": f"at most {high}"}.get(step.guarded, f"{low} to {high}")


def unweighed_lines(job: Job, step: TorqueStep) -> tuple[Line, ...]:
    """Say, before anything is loosened, that only a wrench of which something is stated can decide; else nothing."""
    if job.sheet.decision != "guarded" or step.guard is not None:
        return ()
    wrenches = (each for each in job.tools.values() if each.tool_kind in step.tools)
    if any(each.accuracy is not None or each.calibration_u is not None for each in wrenches):
        return ()
    return (
        Line(
            f"{step.title} is decided guarded: only a wrench with a stated accuracy (tools add) can, "
            "and none took part yet."
        ),
    )


def adapter_text(adapter: ev.Adapter) -> str:
    """An adapter as a person says it, "40 mm on a wrench of 400 mm, at 45°"."""
    angle = f", at {adapter.angle}°" if adapter.angle else ""
    return f"{adapter.extension} on a wrench of {adapter.wrench}{angle}"


# --- what happened --------------------------------------------------------------------------------------------------


def peak_text(event: ev.PullTaken, window_unit: str = "") -> str:
    """The torque of a pull with its unit; with an adapter, what the wrench read and what that is at the fastener.

    At the fastener it stands also in the unit of the window, where that is another one.
    """
    received = event.own_peak or event.host_peak
    if received is None:
        return f"? {event.unit}"
    peak = trimmed(received)
    said, adapter, unit = f"{peak} {event.unit}", geometry(event.adapter), unit_of(event.unit)
    if adapter is None or unit is None or unit[0] != "torque":
        return said
    exact, digits = adapter.at_fastener(Fraction(Decimal(peak))), decimals(peak) + 1
    there = approx(exact, event.unit, digits)
    if window_unit and window_unit != unit[1]:
        there += f", {approx(exact * factor(unit[1], window_unit), window_unit, digits)}"
    return f"{said} on the wrench ({there} at the fastener)"


def pulled(event: ev.PullTaken, where: str, window_unit: str = "") -> str:
    """What became of a pull on a fastener, in one line."""
    peak = peak_text(event, window_unit)
    if event.direction == "anticlockwise":
        return f"Pulled anticlockwise ({where}): it disturbs; say loosened once it is loose"
    if event.invalid:
        return f"Pull on {where} cannot be used: {event.invalid}"
    clicked = event.how == "set and clicked"
    if event.answers is None:
        what = f"Set and clicked at {peak}" if clicked else f"Pull of {peak}"
        if event.set_aside == "other tool":
            return f"{what} ({where}), another wrench was picked for this: it does not count, but it disturbs"
        return f"{what}, not asked for ({where}): it does not count, but it disturbs"
    return f"{where}: set and clicked at {peak}" if clicked else f"Pull of {peak} on {where}"


def tool_declared(event: ev.ToolDeclared, picks: tuple[ev.Pick, ...] = ()) -> str:
    """Which tool typed readings come from, in one line; where others were picked, also what it leaves to them."""
    if not event.tool_kind and picks:
        return f"Typed readings come from what was picked: {_each_once(picks)}"
    if not event.tool_kind:
        return "Typed readings come from no tool that was named"
    kind = "" if event.tool == event.tool_kind else f" ({event.tool_kind})"
    others = tuple(pick for pick in picks if is_wrench(pick) != is_wrench(event))
    if not others:
        return f"Typed readings come from: {event.tool}{kind}"
    what, rest = ("torques", "lengths") if is_wrench(event) else ("lengths", "torques")
    return f"Typed {what} come from: {event.tool}{kind}; {rest} from: {_each_once(others)}"


def _each_once(picks: tuple[ev.Pick, ...]) -> str:
    return "; ".join(dict.fromkeys(f"{each.tool} ({each.tool_kind})" for each in picks)) or "no tool that was picked"


def tools_picked(event: ev.ToolsPicked) -> str:
    """Which tools are used for the job, in one line."""
    return f"{event.by} uses: {_each_once(event.picks)}"


def adapter_declared(event: ev.AdapterDeclared, title: str) -> str:
    """What is on the wrench for a step, in one line."""
    if event.adapter is None:
        return f"No adapter on the wrench: {title}"
    return f"Adapter on the wrench: {title}, {adapter_text(event.adapter)}"


# --- what settles it ------------------------------------------------------------------------------------------------


def settle_torque(job: Job, step: TorqueStep, place: str, judged: Judged, name: str) -> str:
    """What would settle an open fastener, in one sentence."""
    window = f"{step.window[0]} to {step.window[1]}"
    if judged.to_loosen and judged.verdict in ("unsure", "waiting") and judged.value is not None:
        return f"{name}: {judged.reason}."
    if judged.to_loosen:
        first = first_line(job, step)
        return f"Loosen {name}{f'; {first}' if first else ''}, then torque it into {window}."
    if not job.fastener((step.id, place)).loosened:
        return f"Confirm untouched: {name}; or loosen and torque it into {window}."
    return f"Torque {name} into {window}."

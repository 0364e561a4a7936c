"""Before a job begins: what the tools at hand cannot decide, read too coarsely, or are overdue for, in sentences."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from logger.events import Pick, SideOffset, ToolDescribed
from logger.metrology.conformity import DecisionRule
from logger.metrology.outlook import outlook, outlook_words, resolution_fitness
from logger.metrology.uncertainty import Budget, stated
from logger.metrology.worth import ToolFigures, difference, reading_budget
from logger.sheets.sheet import MeasureStep, Sheet, Step, TorqueStep
from logger.sheets.written import Guarded
from logger.units import Limits, Quantity, decimals, in_unit, parse_quantity

from .figures import figures_of, wrong_figures
from .judged import limit_in
from .picked import passed_over
from .weighed import method_of, pair_budget


@dataclass(frozen=True, slots=True)
class Doubt:
    """What speaks against a tool, before a job."""

    word: str
    """In a word or two, such as "coarse"."""
    said: str
    """In a sentence."""
    bars: bool = False
    """Whether some value that the tool takes gets no verdict by it."""


@dataclass(frozen=True, slots=True)
class _Target:
    """One window of a sheet, in the unit it was written in, and what a reading of one tool is worth there."""

    what: str
    limits: Limits
    unit: str
    digits: int
    guard: Quantity | None
    guarded: Guarded
    allow_coarse: bool
    budget: Budget
    resolution: Fraction | None


def outlooks(
    sheet: Sheet,
    tools: Iterable[ToolDescribed],
    on: str | None = None,
    offset: SideOffset | None = None,
    picks: tuple[Pick, ...] = (),
) -> tuple[str, ...]:
    """Say, a sentence each, what should be known before a job with these tools; nothing when all of it is fine.

    A window that a tool cannot decide, or hardly, under the sheet's rule, with what is left to aim at and what tool
    would serve; what no tool can decide, since nothing is stated of any; a resolution that is coarse for a window; a
    calibration that is overdue on the day `on` (YYYY-MM-DD). `offset` is what the machine's own sides differ by;
    of a tool that another was picked over nothing is said where it is not used.
    """
    tools = tuple(tools)
    said: dict[str, None] = dict.fromkeys(_unweighed(sheet, tools))
    for tool in tools:
        name, kind = tool.tool, tool.tool_kind
        steps = [step.id for step in sheet.step if not passed_over(picks, step.id, name, kind)]
        said |= dict.fromkeys(doubt.said for doubt in tool_doubts(sheet, tool, on, offset, steps))
    return tuple(said)


def tool_doubts(
    sheet: Sheet,
    tool: ToolDescribed,
    on: str | None = None,
    offset: SideOffset | None = None,
    steps: Iterable[str] | None = None,
) -> tuple[Doubt, ...]:
    """Return what speaks against one tool on the day `on` (YYYY-MM-DD), for the steps of these ids or for all."""
    wanted = None if steps is None else frozenset(steps)
    mine = [step for step in sheet.step if wanted is None or step.id in wanted]
    targets = [target for step in mine for target in _targets(sheet, step, tool, offset)]
    found = [*_of_tool(sheet, tool, targets, on)]
    for target in targets:
        found += _of_target(sheet, tool, target)
    return tuple(dict.fromkeys(found))


def worths(sheet: Sheet, tool: ToolDescribed, steps: Iterable[str]) -> tuple[float, ...]:
    """Return what a value of one tool is worth (U) as a share of each window of these steps, in its middle.

    Only where an accuracy or a calibration is stated of it: the U of what nobody stated would be too small.
    """
    if tool.accuracy is None and tool.calibration_u is None:
        return ()
    wanted = frozenset(steps)
    targets = (each for step in sheet.step if step.id in wanted for each in _targets(sheet, step, tool, None))
    return tuple(target.budget.expanded / width for target in targets if (width := _width(target.limits)))


def _width(limits: Limits) -> float:
    low, high = limits
    return 0.0 if low is None or high is None else float(high - low)


def _unweighed(sheet: Sheet, tools: tuple[ToolDescribed, ...]) -> Iterator[str]:
    """Name the steps of a guarded sheet that nothing can decide: neither a tool nor the sheet states a figure."""
    if sheet.decision != "guarded":
        return
    found: dict[tuple[str, ...], list[str]] = {}
    for step in sheet.step:
        if not isinstance(step, MeasureStep | TorqueStep) or step.guard is not None or not _is_decided(step):
            continue
        if not any(tool.tool_kind in step.tools and _is_weighed(step, tool) for tool in tools):
            found.setdefault(tuple(step.tools), []).append(step.title)
    for kinds, titles in found.items():
        yield (
            f"{', '.join(titles)}: the decision is guarded, and nothing states how far a {' or '.join(kinds)} may be "
            "off; enter it with its accuracy (tools add), or state a guard in the sheet."
        )


def _is_decided(step: MeasureStep | TorqueStep) -> bool:
    return isinstance(step, TorqueStep) or bool(step.window or step.agree_within)


def _is_weighed(step: MeasureStep | TorqueStep, tool: ToolDescribed) -> bool:
    """Whether enough is stated of a tool to decide by; accuracy cancels in a difference: resolution will do."""
    if tool.accuracy is not None or tool.calibration_u is not None:
        return True
    apart = isinstance(step, MeasureStep) and (step.takes == "difference" or not step.window)
    return apart and tool.resolution is not None


def _of_tool(sheet: Sheet, tool: ToolDescribed, targets: list[_Target], on: str | None) -> Iterator[Doubt]:
    if not targets:
        return
    for wrong in wrong_figures(tool, targets[0].unit):
        yield Doubt("a figure that cannot be used", wrong)
    if on is not None and tool.due is not None and tool.due < on:
        late = f"{tool.tool}: its calibration was due on {tool.due}; use another tool or have it calibrated."
        yield Doubt("calibration overdue", late, bars=True)
    if sheet.decision == "guarded" and tool.accuracy is None and tool.calibration_u is None:
        unknown = f"{tool.tool}: no accuracy is stated, so it cannot decide; state it in the toolbook."
        yield Doubt("no accuracy stated", unknown, bars=True)


def _of_target(sheet: Sheet, tool: ToolDescribed, target: _Target) -> Iterator[Doubt]:
    where = f"{target.what} with {tool.tool}"
    fitness = "fit" if target.resolution is None else resolution_fitness(target.resolution, target.limits)
    if fitness != "fit" and target.resolution is not None:
        share = "a quarter" if fitness == "unfit" else "a tenth"
        refused = fitness == "unfit" and not target.allow_coarse
        then = "it gives no verdict there; use a finer tool" if refused else "a finer tool would be better"
        step = f"steps of {float(target.resolution):g} {target.unit}"
        said = f"{where}: {step} are more than {share} of the window; {then}."
        yield Doubt("too coarse" if refused else "coarse", said, bars=refused)
    guard = None if target.guard is None else limit_in(target.guard, target.unit)
    found = outlook(target.limits, target.budget, DecisionRule(sheet.decision, guard, target.guarded))
    words = outlook_words(found, target.limits, target.unit, target.digits)
    if words:
        bars = found.word == "cannot"
        yield Doubt("cannot decide" if bars else "leaves little to aim at", f"{where}: {' '.join(words)}", bars=bars)


# --- the windows of a sheet -----------------------------------------------------------------------------------------


def _targets(sheet: Sheet, step: Step, tool: ToolDescribed, offset: SideOffset | None) -> Iterator[_Target]:
    if not isinstance(step, MeasureStep | TorqueStep) or tool.tool_kind not in step.tools:
        return
    if step.window is not None and step.window[0].kind != "share":
        yield _window(step, step.window, tool)
    if isinstance(step, MeasureStep) and step.agree_within is not None:
        own = offset if sheet.drive is None or sheet.drive.sides == step.id else None
        yield _pair(step, step.agree_within, tool, own if set(step.slots) == {"left", "right"} else None)


def _window(step: MeasureStep | TorqueStep, window: tuple[Quantity, Quantity], tool: ToolDescribed) -> _Target:
    unit = window[0].unit
    figures, limits = figures_of(tool, unit), in_unit(window, unit)
    if isinstance(step, MeasureStep):
        budget = _reading(step, figures, unit, limits)
    else:
        budget = reading_budget(figures, [_middle(limits)])
    digits = max(decimals(end.text) for end in window) + 1
    return _Target(
        step.title, limits, unit, digits, step.guard, step.guarded, step.allow_coarse, budget, figures.resolution
    )


def _pair(step: MeasureStep, agree: Quantity, tool: ToolDescribed, offset: SideOffset | None) -> _Target:
    unit, figures = agree.unit, figures_of(tool, agree.unit)
    side = _reading(step, figures, unit, Limits(None, None))
    budget = pair_budget(side, side, same_tool=True, names=("one side", "the other"))
    if offset is not None:
        budget = budget.plus(stated("side offset", limit_in(parse_quantity(offset.u), unit), offset.how))
    allowed = limit_in(agree, unit)
    limits = Limits(-allowed, allowed)
    digits, what = decimals(agree.text) + 1, f"{step.title}, agreement"
    return _Target(what, limits, unit, digits, step.guard, "both", step.allow_coarse, budget, figures.resolution)


def _reading(step: MeasureStep, figures: ToolFigures, unit: str, limits: Limits) -> Budget:
    """What one value of a step is worth, read once with one tool, in the middle of the window."""
    if step.takes == "value":
        return reading_budget(figures, [_middle(limits)]).plus(method_of(step, unit))
    smaller, larger = reading_budget(figures, [0]), reading_budget(figures, [_middle(limits)])
    apart = difference(larger, smaller, same_tool=True)
    return apart.plus(method_of(step, unit))


def _middle(limits: Limits) -> Fraction:
    ends = [end for end in limits if end is not None]
    return sum(ends, Fraction(0)) / len(ends) if ends else Fraction(0)

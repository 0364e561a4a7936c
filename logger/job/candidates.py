"""Which tools of a toolbook would serve a sheet, and where a person has to pick one of several; pure."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from logger.events import Pick, SideOffset, ToolDescribed
from logger.sheets.sheet import MeasureStep, Sheet, TorqueStep, ZeroStep

from .facts import Job
from .fitness import Doubt, tool_doubts, worths


@dataclass(frozen=True, slots=True)
class Candidate:
    """One tool that could be used, with what speaks against it."""

    tool: str
    kind: str
    doubts: tuple[Doubt, ...] = ()
    served: bool = False
    """Whether it was used for this last time."""
    worth: float | None = None
    """U of its values as a share of the window, the largest of its steps; None where no accuracy is stated."""

    @property
    def is_fit(self) -> bool:
        """Whether nothing keeps a value that it takes from a verdict."""
        return not any(doubt.bars for doubt in self.doubts)


@dataclass(frozen=True, slots=True)
class Need:
    """The steps that one tool is used for: those of a kind of length tool, or one that is pulled by a wrench."""

    key: str
    """The kind, or the id of the torque step."""
    title: str
    """The kind, or the title of the torque step."""
    steps: tuple[str, ...]
    candidates: tuple[Candidate, ...]
    """The one to prefer first."""
    uses: str = ""
    """What it is used for: the titles of the steps, or the window of the torque."""

    @property
    def asks(self) -> bool:
        """Whether more than one tool would do, so that a person has to say which; without a fit one, all would."""
        fit = [each for each in self.candidates if each.is_fit] or self.candidates
        return len(fit) > 1


def needs(
    sheet: Sheet,
    tools: Iterable[ToolDescribed],
    on: str | None = None,
    offset: SideOffset | None = None,
    last: Mapping[str, str] | None = None,
) -> tuple[Need, ...]:
    """Return what a sheet needs tools for, in its order, with those at hand that it takes there.

    The fittest come first: the smallest uncertainty in the middle of the windows where an accuracy is stated, then the
    fewest doubts, of equal ones that of last time (`last`: step -> tool). A sheet may want a small and a large
    wrench: each torque step is a need of its own. `on` is the day, YYYY-MM-DD; `offset` what the machine's sides
    differ by.
    """
    tools, last = tuple(tools), last or {}
    found = []
    for key, title, steps, kinds, uses in _wanted(sheet):
        before = {last[step] for step in steps if step in last}
        every = [
            Candidate(
                tool=each.tool,
                kind=each.tool_kind,
                doubts=tool_doubts(sheet, each, on, offset, steps),
                served=each.tool in before,
                worth=max(worths(sheet, each, steps), default=None),
            )
            for each in tools
            if each.tool_kind in kinds
        ]
        found.append(Need(key, title, steps, tuple(sorted(every, key=_rank)), uses))
    return tuple(found)


def _rank(each: Candidate) -> tuple[bool, float, int, bool]:
    """Sort what is fitter first; a tool of which no accuracy is stated after those whose worth is known."""
    return not each.is_fit, math.inf if each.worth is None else each.worth, len(each.doubts), not each.served


def picks_of(wanted: Iterable[Need], chosen: Mapping[str, str]) -> tuple[Pick, ...]:
    """Return what was picked, `chosen` being the tool by the key of its need; what is no candidate is left out."""
    return tuple(
        Pick(tool=each.tool, tool_kind=each.kind, steps=need.steps)
        for need in wanted
        for each in need.candidates
        if each.tool == chosen.get(need.key)
    )


def used(job: Job) -> Mapping[str, str]:
    """Return the tool that served each step of a job last; where nothing was read, the one picked for it."""
    found = {step: pick.tool for pick in job.picked for step in pick.steps}
    for (step, _), attempts in job.attempts.items():
        for tried in attempts:
            found.update((step, each.tool) for each in tried.live)
    for (step, _), fastener in job.fasteners.items():
        found.update((step, pull.tool) for pull in fastener.pulls if pull.asked)
    return found


def _wanted(sheet: Sheet) -> list[tuple[str, str, tuple[str, ...], tuple[str, ...], str]]:
    """Key, title, steps, kinds and uses of each need."""
    kinds: dict[str, list[MeasureStep | ZeroStep]] = {}
    pulled = []
    for step in sheet.step:
        if isinstance(step, MeasureStep | ZeroStep):
            for kind in step.tools:
                kinds.setdefault(kind, []).append(step)
        elif isinstance(step, TorqueStep):
            low, high = step.window
            pulled.append((step.id, step.title, (step.id,), step.tools, f"{low} to {high}"))
    lengths = [
        (kind, kind, tuple(step.id for step in steps), (kind,), "; ".join(step.title for step in steps))
        for kind, steps in kinds.items()
    ]
    return [*lengths, *pulled]

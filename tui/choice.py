"""What is chosen before a job begins: an open job or a sheet, the machine, the person, the tools, the kit; pure.

Each page asks for one thing; which page is next follows from what is chosen already.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from logger.job.candidates import Candidate, Need
from logger.job.line import caution, item
from logger.sheets.sheet import Sheet

Asks = Literal["job", "sheet", "machine", "by", "tool", "kit", "cautions"]
NEW = ""
"""What stands for "none of the open jobs"."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What is chosen so far; None where nothing is yet."""

    job: str | None = None
    """An open job to take up, or NEW."""
    sheet: str | None = None
    machine: str | None = None
    by: str | None = None
    tools: Mapping[str, str] = field(default_factory=dict)
    """The tool that is used, by the key of what it is needed for."""
    kit: str | None = None
    cautions: str | None = None


@dataclass(frozen=True, slots=True)
class PastJob:
    """One job of the trail, as far as it matters before another."""

    job: str
    sheet: str
    """The id of its sheet."""
    machine: str
    by: str
    state: str
    """"open" or "closed"."""
    opened: str
    """UTC."""
    simulated: bool = False


@dataclass(frozen=True, slots=True)
class Offer:
    """One thing that can be chosen, with what is known of it."""

    value: str
    title: str
    more: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Page:
    """One question: offers, a field for what is not among them, or only something to read."""

    asks: Asks
    title: str
    offers: tuple[Offer, ...] = ()
    field: str = ""
    lines: tuple[str, ...] = ()
    accept: str = "Take it"
    key: str = ""
    """What a tool is asked for."""


@dataclass(frozen=True, slots=True)
class Owned:
    """One tool of the toolbook in words."""

    line: str
    """What it is, how good, how its calibration stands."""
    soon: str = ""
    """What is to be minded of it soon, in a word or two."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """What the tools are worth for what is chosen."""

    needs: tuple[Need, ...] = ()
    cannot: tuple[str, ...] = ()
    """What they cannot decide, a sentence each."""


@dataclass(frozen=True, slots=True)
class Depot:
    """What there is to choose from."""

    sheets: Mapping[str, Sheet]
    jobs: tuple[PastJob, ...]
    """Newest first."""
    tools: Mapping[str, Owned]
    """The toolbook."""
    weigh: Callable[[Choice], Weighed]
    """Holds the tools against what is chosen; asked once the sheet is."""
    unusable: tuple[str, ...] = ()
    """Why sheets of one's own cannot be offered, a sentence each."""


def chosen(choice: Choice, page: Page, value: str) -> Choice:
    """Return a choice with the answer to one more page."""
    return _with(choice, page.asks, page.key, value)


def back(choice: Choice, given: Choice, depot: Depot) -> Choice:
    """Return a choice with the last thing taken back that was not given from the beginning."""
    for asks, key in reversed(tuple(_wanted(choice, depot))):
        if _of(choice, asks, key) is not None and _of(given, asks, key) is None:
            return _with(choice, asks, key, None)
    return choice


def next_page(choice: Choice, depot: Depot) -> Page | None:
    """Return the next question, or None when all is chosen."""
    if choice.job:
        return None if choice.by is not None else _by(choice, depot)
    for asks, key in _wanted(choice, depot):
        if _of(choice, asks, key) is None:
            return _tool(choice, depot, key) if asks == "tool" else _PAGES[asks](choice, depot)
    return None


def _wanted(choice: Choice, depot: Depot) -> Iterator[tuple[Asks, str]]:
    """What is asked, in order; open jobs only where there are any, a tool only where several would do.

    Of who takes an open job up, nothing is asked but who it is.
    """
    if open_jobs(depot):
        yield "job", ""
    if choice.job:
        yield "by", ""
        return
    yield "sheet", ""
    yield "machine", ""
    yield "by", ""
    if choice.sheet is not None:
        for need in depot.weigh(choice).needs:
            if need.asks:
                yield "tool", need.key
    yield "kit", ""
    yield "cautions", ""


def _of(choice: Choice, asks: Asks, key: str) -> str | None:
    """What a question was answered with, None while it was not."""
    if asks == "tool":
        return choice.tools.get(key)
    answer: str | None = getattr(choice, asks)
    return answer


def _with(choice: Choice, asks: Asks, key: str, value: str | None) -> Choice:
    if asks != "tool":
        changed: dict[str, Any] = {asks: value}
        return replace(choice, **changed)
    others = {each: tool for each, tool in choice.tools.items() if each != key}
    return replace(choice, tools=others if value is None else others | {key: value})


def open_jobs(depot: Depot) -> tuple[PastJob, ...]:
    """Return the jobs that can be taken up; simulated ones are for the one who simulates."""
    return tuple(line for line in depot.jobs if line.state == "open" and not line.simulated)


# --- the pages ------------------------------------------------------------------------------------------------------


def _job(_: Choice, depot: Depot) -> Page:
    offers = (Offer(line.job, f"Go on: {line.machine}", (_told(line, depot),)) for line in open_jobs(depot))
    return Page("job", "Begin, or go on?", (Offer(NEW, "Begin a new job"), *offers))


def _sheet(_: Choice, depot: Depot) -> Page:
    titles = [sheet.title for sheet in depot.sheets.values()]
    offers = (
        Offer(
            name,
            sheet.title if titles.count(sheet.title) == 1 else f"{sheet.title} ({sheet.id}, revision {sheet.revision})",
            (*filter(None, (sheet.about,)), *((f"Your own: {name}",) if name.endswith(".toml") else ())),
        )
        for name, sheet in depot.sheets.items()
    )
    return Page("sheet", "Which job?", tuple(offers), lines=tuple(caution(why) for why in depot.unusable))


def _machine(choice: Choice, depot: Depot) -> Page:
    before = [line for line in depot.jobs if not line.simulated]
    names = dict.fromkeys(line.machine for line in (*_on(choice, depot, before), *before))
    offers = (Offer(name, name, tuple(_earlier(name, before, depot))) for name in names)
    return Page("machine", "Which machine?", tuple(offers), "Another machine: its name or number")


def _on(choice: Choice, depot: Depot, before: list[PastJob]) -> Iterator[PastJob]:
    """The jobs by the chosen sheet: their machines come first."""
    sheet = depot.sheets.get(choice.sheet or "")
    return (line for line in before if sheet is not None and line.sheet == sheet.id)


def _earlier(machine: str, before: list[PastJob], depot: Depot) -> Iterator[str]:
    mine = [line for line in before if line.machine == machine]
    yield f"{len(mine)} job{'s' if len(mine) > 1 else ''} before:"
    yield from (item(_told(line, depot)) for line in mine)


def _told(line: PastJob, depot: Depot) -> str:
    sheet = next((sheet.title for sheet in depot.sheets.values() if sheet.id == line.sheet), line.sheet)
    return f"{line.job}, {line.state}, {line.opened[:10]}, {sheet}, by {line.by}"


def _by(choice: Choice, depot: Depot) -> Page:
    """Who it is; who began the job that is taken up comes first."""
    began = [line.by for line in depot.jobs if line.job == choice.job]
    names = dict.fromkeys((*began, *(line.by for line in depot.jobs if not line.simulated)))
    more = ("Began this job.",)
    offers = (Offer(name, name, more if name in began else ()) for name in names)
    return Page("by", "Who are you?", tuple(offers), "Another name")


def _tool(choice: Choice, depot: Depot, key: str) -> Page:
    need = next(need for need in depot.weigh(choice).needs if need.key == key)
    title = f"Which {need.title}?" if need.key == need.title else f"Which wrench: {need.title}?"
    offers = tuple(_candidate(each, depot) for each in need.candidates)
    return Page("tool", title, offers, lines=(f"For: {need.uses}",) if need.uses else (), key=key)


def _candidate(tool: Candidate, depot: Depot) -> Offer:
    """A tool with what speaks against it beside its name, and in sentences below."""
    owned = depot.tools.get(tool.tool, Owned(tool.kind))
    words = ", ".join(dict.fromkeys(filter(None, (*(doubt.word for doubt in tool.doubts), owned.soon))))
    last = ("Used for this last time.",) if tool.served else ()
    doubts = (caution(doubt.said) for doubt in tool.doubts)
    return Offer(tool.tool, f"{tool.tool}  ! {words}" if words else tool.tool, (*doubts, owned.line, *last))


def _kit(choice: Choice, depot: Depot) -> Page:
    sheet = depot.sheets[choice.sheet or ""]
    doubts = (caution(doubt) for doubt in depot.weigh(choice).cannot)
    kit = ("Lay out:", *(item(each) for each in sheet.kit)) if sheet.kit else ()
    return Page("kit", "Kit and tools", lines=(*doubts, *kit, *_own(choice, depot)), accept="All laid out")


def _own(choice: Choice, depot: Depot) -> Iterator[str]:
    """The tools that were picked, then those of the toolbook."""
    picked = dict.fromkeys(choice.tools.values())
    for heading, names in (
        ("Tools picked for this job:", [name for name in depot.tools if name in picked]),
        (
            "Others in the toolbook:" if picked else "Tools in the toolbook:",
            [n for n in depot.tools if n not in picked],
        ),
    ):
        if names:
            yield heading
            yield from (item(depot.tools[name].line) for name in names)
    if not depot.tools:
        yield "No tool is in the toolbook: readings can be typed, or come from a tool in reach."


def _cautions(choice: Choice, depot: Depot) -> Page:
    sheet = depot.sheets[choice.sheet or ""]
    lines = tuple(caution(each) for each in sheet.cautions)
    return Page("cautions", "Mind these", lines=lines, accept="Read, begin")


_PAGES = {"job": _job, "sheet": _sheet, "machine": _machine, "by": _by, "kit": _kit, "cautions": _cautions}

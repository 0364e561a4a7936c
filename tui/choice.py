"""What is chosen before a job begins: an open job or a sheet, the machine, the person, the kit; pure.

Each page asks for one thing; which page is next follows from what is chosen already.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from logger.sheet import Sheet

Asks = Literal["job", "sheet", "machine", "by", "kit", "cautions"]
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


@dataclass(frozen=True, slots=True)
class Depot:
    """What there is to choose from."""

    sheets: Mapping[str, Sheet]
    jobs: tuple[PastJob, ...]
    """Newest first."""
    tools: tuple[str, ...]
    """The toolbook, a line a tool."""
    cannot: Mapping[str, tuple[str, ...]]
    """By sheet: what its tools cannot decide."""
    unusable: tuple[str, ...] = ()
    """Why sheets of one's own cannot be offered, a sentence each."""


def chosen(choice: Choice, asks: Asks, value: str) -> Choice:
    """Return a choice with one more thing chosen."""
    return replace(choice, **{asks: value})


def back(choice: Choice, given: Choice, depot: Depot) -> Choice:
    """Return a choice with the last thing taken back that was not given from the beginning."""
    for asks in reversed(_wanted(depot)):
        if getattr(choice, asks) is not None and getattr(given, asks) is None:
            return replace(choice, **{asks: None})
    return choice


def next_page(choice: Choice, depot: Depot) -> Page | None:
    """Return the next question, or None when all is chosen."""
    if choice.job:
        return None
    asks = next((asks for asks in _wanted(depot) if getattr(choice, asks) is None), None)
    return None if asks is None else _PAGES[asks](choice, depot)


def _wanted(depot: Depot) -> tuple[Asks, ...]:
    """What is asked, in order; open jobs only where there are any."""
    first: tuple[Asks, ...] = ("job",) if open_jobs(depot) else ()
    return (*first, "sheet", "machine", "by", "kit", "cautions")


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
    return Page("sheet", "Which job?", tuple(offers), lines=tuple(f"Caution: {why}" for why in depot.unusable))


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
    yield from (f"- {_told(line, depot)}" for line in mine)


def _told(line: PastJob, depot: Depot) -> str:
    sheet = next((sheet.title for sheet in depot.sheets.values() if sheet.id == line.sheet), line.sheet)
    return f"{line.job}, {line.state}, {line.opened[:10]}, {sheet}, by {line.by}"


def _by(_: Choice, depot: Depot) -> Page:
    names = dict.fromkeys(line.by for line in depot.jobs if not line.simulated)
    return Page("by", "Who are you?", tuple(Offer(name, name) for name in names), "Another name")


def _kit(choice: Choice, depot: Depot) -> Page:
    sheet = depot.sheets[choice.sheet or ""]
    own = depot.tools or ("No tool is in the toolbook: readings can be typed, or come from a tool in reach.",)
    doubts = depot.cannot.get(choice.sheet or "", ())
    kit = ("Lay out:", *(f"- {item}" for item in sheet.kit)) if sheet.kit else ()
    lines = (*(f"Caution: {doubt}" for doubt in doubts), *kit, "Tools in the toolbook:", *(f"- {tool}" for tool in own))
    return Page("kit", "Kit and tools", lines=lines, accept="All laid out")


def _cautions(choice: Choice, depot: Depot) -> Page:
    sheet = depot.sheets[choice.sheet or ""]
    lines = tuple(f"Caution: {caution}" for caution in sheet.cautions)
    return Page("cautions", "Mind these", lines=lines, accept="Read, begin")


_PAGES = {"job": _job, "sheet": _sheet, "machine": _machine, "by": _by, "kit": _kit, "cautions": _cautions}

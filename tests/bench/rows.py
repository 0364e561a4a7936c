"""One row of the table of benchmarks: what is measured, against what, and whether its aim holds."""

import resource
import statistics
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from time import perf_counter


@dataclass(frozen=True, slots=True)
class Row:
    """Several rounds of one figure; each is a ratio within its own round, or in the unit that `what` ends with."""

    what: str
    against: str
    """The floor or peer of the same run; empty where the figure stands for itself."""
    found: tuple[float, ...]
    aim: str = ""
    """`<= 2.5` or `>= 4`; empty where there is none."""

    @property
    def median(self) -> float:
        """The middle of the rounds: what the aim is held against."""
        return statistics.median(self.found)

    @property
    def holds(self) -> bool | None:
        """Whether the aim is met; None without an aim."""
        if not self.aim:
            return None
        sign, _, limit = self.aim.partition(" ")
        return self.median <= float(limit) if sign == "<=" else self.median >= float(limit)

    def line(self) -> str:
        """Return the row as one of a Markdown table."""
        figures = " | ".join(f"{each:8.2f}" for each in (self.median, min(self.found), max(self.found)))
        said = {True: "holds", False: "MISSED", None: ""}[self.holds]
        return f"| {self.what:<58} | {self.against:<38} | {figures} | {self.aim:>7} | {said:<6} |"


HEAD = (
    f"| {'what':<58} | {'against':<38} | {'median':>8} | {'least':>8} | {'most':>8} | {'aim':>7} | {'':<6} |\n"
    f"|{'-' * 60}|{'-' * 40}|{'-' * 10}|{'-' * 10}|{'-' * 10}|{'-' * 9}|{'-' * 8}|"
)


def table(rows: Iterable[Row]) -> str:
    """Return rows as a Markdown table."""
    return "\n".join((HEAD, *(row.line() for row in rows)))


def seconds(work: Callable[[], object], clock: Callable[[], float] = perf_counter) -> float:
    """How long something takes."""
    began = clock()
    work()
    return clock() - began


def of_children() -> float:
    """The seconds of processor that ended child processes took: a clock for `seconds` that no other load moves."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def quantile(found: Sequence[float], share: float) -> float:
    """Return the value below which this share of the values lies."""
    ordered = sorted(found)
    return ordered[min(len(ordered) - 1, int(len(ordered) * share))]

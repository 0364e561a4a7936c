"""What came of the soak, as one table: each line with its figures and whether it holds."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from tests.bench.soakfigures import Held, rise, slope

WARM = 0.2
"""The share of the jobs after which memory is looked at: by then every path was taken and every cache is full."""
RSS_KIB = 2560
"""Most by which memory may rise after the warm-up: SQLite's cache of pages (2000 KiB, full some 40 jobs after a
program was started, empty when it is ended) and a little for malloc. Nothing else may: events go with their job."""
BLOCKS = 400
"""Most growth of Python's blocks per 100 jobs: the soak's own tally, and noise. One job that stays is thousands."""
FEWEST = 200
"""Fewer jobs than these do not tell; after half of them every cache of the program is full."""
LOOKS = 20
"""About so many looks at the memory are printed."""
SAID = 12
"""Most disagreements that are printed."""


@dataclass
class Report:
    """What came of it."""

    jobs: int = 0
    closed: int = 0
    events: int = 0
    late: int = 0
    """Of them, those that came once their job had been held against the trail."""
    sent: int = 0
    owed: int = 0
    kept: int = 0
    counted: int = 0
    runs: int = 0
    seconds: float = 0
    injected: Counter[str] = field(default_factory=Counter)
    missing: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    held: list[Held] = field(default_factory=list)
    start: Held | None = None
    end: Held | None = None
    trail: str = ""
    sound: bool = False

    @property
    def warm(self) -> list[Held]:
        """What was held after the warm-up."""
        return [each for each in self.held if each.jobs >= max(WARM * self.jobs, FEWEST / 2)]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the table; `holds` is None where there is nothing to hold."""

    what: str
    figures: str
    holds: bool | None = None

    def __str__(self) -> str:
        verdict = {None: "", True: "holds", False: "DOES NOT HOLD"}[self.holds]
        return f"{self.what:<44} {self.figures:<66} {verdict}".rstrip()


def table(report: Report) -> tuple[list[str], bool]:
    """Return the table as lines, and whether all of it holds."""
    lines = [*_counts(report), *_faults(report), *_memory(report), *_left(report)]
    return [str(line) for line in lines], all(line.holds is not False for line in lines)


def _counts(report: Report) -> Iterator[Line]:
    yield Line(
        "jobs closed, of",
        f"{report.closed}, {report.jobs}; {report.seconds:.0f} s; {report.runs} runs",
        report.jobs > 0,
    )
    yield Line("events on the trail", f"{report.events}, {report.late} of a link after its job's end", report.sound)
    yield Line("the trail verified", report.trail)
    yield Line("notifications sent, streams included", f"{report.sent}")
    kept = f"{report.owed} sent, {report.kept} kept, {report.counted} counted"
    yield Line("readings, peaks and frames of the tools", kept, not report.wrong)
    for each in report.wrong[:SAID]:
        yield Line("", each)
    if len(report.wrong) > SAID:
        yield Line("", f"and {len(report.wrong) - SAID} more")


def _faults(report: Report) -> Iterator[Line]:
    for name, count in sorted(report.injected.items(), key=lambda each: -each[1]):
        yield Line(f"  injected: {name}", f"{count}")
    yield Line("faults never injected", ", ".join(report.missing) or "none", not report.missing)


def _memory(report: Report) -> Iterator[Line]:
    for each in report.held[:: max(1, len(report.held) // LOOKS)]:
        yield Line(f"  after {each.jobs} jobs", f"{each.rss_kib} KiB, {each.blocks} blocks")
    warm = report.warm
    if report.jobs < FEWEST:
        yield Line("memory", f"{FEWEST} jobs or more tell whether it grows")
        return
    rss, blocks = [each.rss_kib for each in warm], [(each.jobs, each.blocks) for each in warm]
    along = slope([(each.jobs, each.rss_kib) for each in warm])
    risen, grown, since = rise(rss), slope(blocks), f"since job {warm[0].jobs}"
    yield Line(
        "memory rises by", f"{risen} KiB {since}, {along:.0f} KiB per 100 jobs; at most {RSS_KIB}", risen <= RSS_KIB
    )
    yield Line("blocks of Python grow by", f"{grown:.0f} per 100 jobs {since}; at most {BLOCKS}", grown <= BLOCKS)


def _left(report: Report) -> Iterator[Line]:
    if report.start is None or report.end is None:
        return
    for place, what in enumerate(("tasks", "open files", "threads")):
        before, after = report.start.loose[place], report.end.loose[place]
        yield Line(f"{what} at the start, at the end", f"{before}, {after}", after <= before)

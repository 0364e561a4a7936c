"""What came of the soak, as one table: each line with its figures and whether it holds."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from tests.bench.soakfigures import Held, slope

WARM = 0.2
"""The share of the jobs after which memory is looked at: by then every path was taken and every cache is full."""
RSS_KIB, BLOCKS = 512, 400
"""Most growth per 100 jobs that counts as flat. A job has about 60 events and its own objects go with it; what may grow
is the soak's own tally (one entry a fault) and what malloc scatters; one leaked job is hundreds of KiB for 100 jobs."""
FEWEST = 100
"""Fewer jobs than these do not tell."""
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
        return [each for each in self.held if each.jobs >= WARM * self.jobs]


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
    yield Line("events on the trail", f"{report.events}", report.sound)
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
        yield Line(f"  after {each.jobs} jobs", f"{each.rss_kib} KiB resident, {each.blocks} blocks")
    warm = report.warm
    if report.jobs < FEWEST:
        yield Line("memory", f"{FEWEST} jobs or more tell whether it grows")
        return
    rss = slope([(each.jobs, each.rss_kib) for each in warm])
    blocks = slope([(each.jobs, each.blocks) for each in warm])
    since = f"per 100 jobs since job {warm[0].jobs}"
    yield Line("resident memory grows by", f"{rss:.0f} KiB {since}; at most {RSS_KIB}", rss <= RSS_KIB)
    yield Line("blocks of Python grow by", f"{blocks:.0f} {since}; at most {BLOCKS}", blocks <= BLOCKS)


def _left(report: Report) -> Iterator[Line]:
    if report.start is None or report.end is None:
        return
    for place, what in enumerate(("tasks", "open files", "threads")):
        before, after = report.start.loose[place], report.end.loose[place]
        yield Line(f"{what} at the start, at the end", f"{before}, {after}", after <= before)

"""The soak's ledger: what left the tools, held against what is on the trail. It knows no radio, no clock and no disk.

An `Account` is of one job. A frame that somebody has to answer for (a reading, a peak, garbage, what a tool kept) is
`owed`: the trail holds it exactly once, whatever it was taken for. A sample of a torque stream is kept in the trace
of its pull, or as a frame that came too late, and never twice.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from drivers.reading import Arrival, ToolState
from logger import events as ev

LOST = re.compile(r"(\d+) (?:late )?frames were lost")
MISSED = re.compile(r"Frames before this one did not arrive: (\d+)")


@dataclass(slots=True)
class Sent:
    """What one tool sent in one job, by the octets in hex."""

    owed: Counter[str] = field(default_factory=Counter)
    presses: Counter[str] = field(default_factory=Counter)
    """Of those, what may count: the first notification of a press or pull, sent by who was asked."""
    echoes: Counter[str] = field(default_factory=Counter)
    """Of those, the same notification again: a worn button, or a subscription too many."""
    loose: Counter[str] = field(default_factory=Counter)
    """Samples of the stream."""
    samples: list[str] = field(default_factory=list)
    """Their values as text, in order; those without a value left out."""
    missed: int = 0
    """Frames that never arrived, as the tool's counter shows."""


@dataclass(slots=True)
class Account:
    """What the tools sent in one job, by tool."""

    sent: defaultdict[str, Sent] = field(default_factory=lambda: defaultdict(Sent))

    @property
    def owed(self) -> int:
        """How many frames the trail owes."""
        return sum(each.owed.total() for each in self.sent.values())


@dataclass(frozen=True, slots=True)
class Cut:
    """How a tool cuts its messages: octets of the first of two notifications, which is longer than the second."""

    head: int

    def pieces(self, raw: str) -> tuple[str, ...]:
        """Return the notifications that what is on the trail was made of, in hex: the first may have come twice."""
        return tuple(raw[at : at + 2 * self.head] for at in range(0, len(raw), 2 * self.head))


@dataclass(frozen=True, slots=True)
class Found:
    """What a job's events hold against its account."""

    kept: int
    """How many of the frames that are owed are there."""
    counted: int
    """How many of them answer a prompt."""
    wrong: tuple[str, ...]


class Flight:
    """Frames on their way, by tool: sent, and not yet handed over by the drivers."""

    def __init__(self, cuts: Mapping[str, Cut]) -> None:
        self._cuts = cuts
        self._up: Counter[str] = Counter()

    @property
    def landed(self) -> bool:
        """Whether all that was sent has been handed over."""
        return not any(self._up.values())

    def sent(self, tool: str) -> None:
        """Count one notification."""
        self._up[tool] += 1

    def heard(self, tool: str, arrival: Arrival) -> None:
        """Count what the drivers handed over; what they say was lost is handed over too."""
        if isinstance(arrival, ToolState):
            lost = LOST.search(arrival.message)
            self._up[tool] -= int(lost[1]) if lost else 0
        elif not MISSED.match(getattr(arrival, "reason", "")):
            self._up[tool] -= len(pieces(self._cuts, tool, arrival.raw))

    def __str__(self) -> str:
        return ", ".join(f"{tool} {count}" for tool, count in self._up.items() if count) or "nothing"


def pieces(cuts: Mapping[str, Cut], tool: str, raw: str) -> tuple[str, ...]:
    """Return the notifications of what is kept of a tool."""
    return cuts[tool].pieces(raw) if tool in cuts else (raw,)


def compare(account: Account, events: Iterable[ev.Event], cuts: Mapping[str, Cut], names: Mapping[str, str]) -> Found:
    """Hold a job's events against its account; `names` gives the serial number for each name a tool goes by."""
    kept = _Kept(cuts, names)
    for event in events:
        kept.add(event)
    tools = sorted(account.sent.keys() | kept.taken.keys() | kept.frames.keys())
    wrong = tuple(said for tool in tools for said in _wrong(tool, account.sent[tool], kept))
    held = {tool: sent.owed & (kept.taken[tool] + kept.frames[tool]) for tool, sent in account.sent.items()}
    return Found(
        sum(each.total() for each in held.values()), sum(each.total() for each in kept.counted.values()), wrong
    )


class _Kept:
    """What is on the trail of a job, by tool and octets."""

    def __init__(self, cuts: Mapping[str, Cut], names: Mapping[str, str]) -> None:
        self._cuts, self._names = cuts, names
        self.taken: defaultdict[str, Counter[str]] = defaultdict(Counter)
        self.frames: defaultdict[str, Counter[str]] = defaultdict(Counter)
        self.counted: defaultdict[str, Counter[str]] = defaultdict(Counter)
        self.aside: defaultdict[str, Counter[str]] = defaultdict(Counter)
        """What is marked as a duplicate, or as too late to be one."""
        self.traces: defaultdict[str, list[tuple[str, ...]]] = defaultdict(list)
        self.missed: Counter[str] = Counter()

    def add(self, event: ev.Event) -> None:
        match event:
            case ev.ReadingTaken() | ev.PullTaken():
                self._take(self._names.get(event.tool, event.tool), event)
            case ev.FrameUndecoded(raw=raw, reason=reason):
                tool = self._names.get(event.tool, event.tool)
                if found := MISSED.match(reason):
                    self.missed[tool] += int(found[1])
                else:
                    self.frames[tool].update(pieces(self._cuts, tool, raw))

    def _take(self, tool: str, event: ev.ReadingTaken | ev.PullTaken) -> None:
        whole = pieces(self._cuts, tool, event.raw) if event.raw else ()
        self.taken[tool].update(whole)
        if event.set_aside in ("duplicate", "job closed"):
            self.aside[tool].update(whole)
        elif event.answers is not None and not event.set_aside and not getattr(event, "invalid", ""):
            self.counted[tool].update(whole[:1] or (f"nothing of {event.kind}",))
        if isinstance(event, ev.PullTaken) and event.trace:
            self.traces[tool].append(tuple(text for _, text in event.trace))


def _wrong(tool: str, sent: Sent, kept: _Kept) -> Iterator[str]:
    """Say what does not agree of one tool."""
    taken, frames = kept.taken[tool], kept.frames[tool]
    for raw in sorted(sent.owed.keys() | taken.keys() | frames.keys()):
        owed, loose, there = sent.owed[raw], sent.loose[raw], taken[raw] + frames[raw]
        if not owed <= there <= owed + loose or taken[raw] > owed:
            yield f"{tool} sent {raw} {owed} times, the trail holds it {taken[raw]} + {frames[raw]} times"
    for raw, times in kept.counted[tool].items():
        if times > sent.presses[raw]:
            yield f"{tool} was pressed {sent.presses[raw]} times for {raw}, which counts {times} times"
    for raw, times in sent.echoes.items():
        if kept.aside[tool][raw] + frames[raw] < times:
            yield f"{tool} sent {raw} again {times} times, marked are {kept.aside[tool][raw]}"
    if kept.missed[tool] != sent.missed:
        yield f"{tool} lost {sent.missed} frames on the way, told are {kept.missed[tool]}"
    yield from _samples_twice(tool, sent.samples, kept.traces[tool])


def _samples_twice(tool: str, samples: Iterable[str], traces: Iterable[tuple[str, ...]]) -> Iterator[str]:
    """Find each trace in what was streamed, one behind the other; two may share the sample at rest between them."""
    streamed, at = f"|{'|'.join(samples)}|", 0
    for trace in traces:
        found = streamed.find(f"|{'|'.join(trace)}|", at)
        if found < 0:
            yield f"{tool}: a pull to {max(trace, key=len)} of {len(trace)} samples is not what was streamed then"
        else:
            at = found + len("|".join(trace[:-1]))

"""All benches of a shop at a glance: what they say of themselves, folded into one row each; pure."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from logger.errors import BadInput
from logger.shop.topics import COLLECTOR, address
from logger.shop.wire import BenchState, CollectorState, JobNow, unpack
from logger.shop.wireport import Message

MOST_BENCHES = 2000
"""Rows kept; a broker that is open to everyone must not fill the memory of who watches."""


@dataclass(frozen=True, slots=True)
class BenchRow:
    """One bench."""

    bench: str
    state: str = ""
    """ready, disconnected or lost; empty until it said."""
    session: int = -1
    job: JobNow | None = None

    @property
    def here(self) -> bool:
        """Whether it is connected, so that what it shows is of now."""
        return self.state == "ready"


@dataclass(frozen=True, slots=True)
class Floor:
    """Every bench, and whether anyone collects."""

    rows: Mapping[str, BenchRow]
    collector: str = ""
    refused: int = 0
    """Messages that were none."""

    def in_order(self) -> list[BenchRow]:
        """Return the rows: those with open overrides first, then by name."""
        return sorted(self.rows.values(), key=lambda row: (not (row.job and row.job.overrides), row.bench))


EMPTY = Floor({})


def seen(floor: Floor, shop: str, message: Message) -> Floor:
    """Fold one message in; what is malformed is only counted."""
    place = address(shop, message.topic)
    if place is None:
        return floor
    try:
        if place.bench == COLLECTOR:
            return replace(floor, collector=unpack(CollectorState, message.payload).state)
        before = floor.rows.get(place.bench) or BenchRow(place.bench)
        if place.bench not in floor.rows and len(floor.rows) >= MOST_BENCHES:
            return replace(floor, refused=floor.refused + 1)
        match place.leaf:
            case "$state":
                row = _state(before, unpack(BenchState, message.payload))
            case "$job":
                row = _job(before, unpack(JobNow, message.payload))
            case _:
                return floor
    except BadInput:
        return replace(floor, refused=floor.refused + 1)
    return replace(floor, rows={**floor.rows, place.bench: row})


def _state(row: BenchRow, said: BenchState) -> BenchRow:
    """A last will of an earlier connection comes late and says nothing of this one."""
    if said.bench != row.bench:
        raise BadInput(f"On the topic of {row.bench} it speaks for {said.bench}.")
    return row if said.session < row.session else replace(row, state=said.state, session=said.session)


def _job(row: BenchRow, said: JobNow) -> BenchRow:
    if said.bench != row.bench:
        raise BadInput(f"On the topic of {row.bench} it speaks for {said.bench}.")
    return replace(row, job=said)


def counts(job: JobNow) -> str:
    """Return the verdicts counted, in the order of the words."""
    return ", ".join(f"{count} {verdict}" for verdict, count in sorted(job.verdicts.items()) if count)

"""The collector's one transaction: a batch of messages is checked, committed as a whole, and only then answered."""

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

import sqlalchemy as sa

from logger.shop.wire import Ack, Again, BenchHead, BenchState, Nack
from logger.shop.wireport import Message
from logger.trail.canonical import genesis

from .chain import Advance, Chain, advance, gap
from .check import Arrived, Refused, check
from .tables import ahead, alarms, benches, cannot, chains, events, insert_new, keys, parked

PATIENCE = 5
"""Refusals of one event before the rest goes on without it."""
MOST_PARKED = 1000
"""Rows of refused messages, and of alarms, kept for one bench; more are only counted off."""
_MOST_KEPT = 64 * 1024
"""Octets of a refused payload that are kept."""

Key = tuple[str, str]


@dataclass(slots=True)
class Answers:
    """What to say to the benches once the batch is committed."""

    acks: dict[Key, Ack] = field(default_factory=dict)
    agains: dict[Key, Again] = field(default_factory=dict)
    nacks: dict[tuple[str, str, int], Nack] = field(default_factory=dict)


class Store:
    """Where a shop's events are kept; `take` is the only way in."""

    def __init__(self, engine: sa.Engine, shop: str, now: Callable[[], str]) -> None:
        self._engine = engine
        self._shop = shop
        self._now = now

    def take(self, batch: Sequence[Message]) -> Answers:
        """Commit a batch and return the answers; NotStored when it cannot be committed: then nothing of it is."""
        found = [check(self._shop, message) for message in batch]
        try:
            with self._engine.begin() as connection:
                return _Taking(connection, self._now()).all(found)
        except sa.exc.SQLAlchemyError as error:
            raise cannot(error) from error

    def standing(self) -> list[Ack]:
        """Return how far each trail is kept; NotStored when the database cannot be read."""
        try:
            with self._engine.connect().execution_options(reads=True) as connection:
                rows = connection.execute(sa.select(chains)).all()
        except sa.exc.SQLAlchemyError as error:
            raise cannot(error) from error
        return [Ack(bench=row.bench, trail=row.trail, seq=row.seq, hash=row.hash.hex()) for row in rows]


class _Taking:
    """One batch in one transaction."""

    def __init__(self, connection: sa.Connection, utc: str) -> None:
        self._db = connection
        self._utc = utc
        self._answers = Answers()

    def all(self, found: Iterable[object]) -> Answers:
        heaps: dict[Key, list[Arrived]] = defaultdict(list)
        heads: dict[Key, BenchHead] = {}
        for each in found:
            match each:
                case Arrived():
                    heaps[each.bench, each.trail].append(each)
                case Refused():
                    self._refuse(each)
                case BenchState():
                    self._state(each)
                case BenchHead():
                    heads[each.bench, each.trail] = each
        for key in sorted(heaps.keys() | heads.keys()):  # in one order, so that two collectors cannot wait in a ring
            self._chain(key, heaps.get(key, []), heads.get(key))
        return self._answers

    # --- one chain --------------------------------------------------------------------------------------------------

    def _chain(self, key: Key, heap: Sequence[Arrived], head: BenchHead | None) -> None:
        chain, session = self._locked(key)
        if head is not None and head.session > session:
            self._head(head, chain)
        if heap:
            heap = [*self._waiting(key, chain, heap), *heap]
            result = advance(chain, heap, self._stepped_over(key))
            self._keep(key, chain, result)
            chain = result.chain
        bench, trail = key
        self._answers.acks[key] = Ack(bench=bench, trail=trail, seq=chain.seq, hash=chain.hash.hex())

    def _locked(self, key: Key) -> tuple[Chain, int]:
        """Return how far the trail reaches, holding its row so that no other collector moves it.

        With it comes the last session whose head was looked at.
        """
        row = self._db.execute(sa.select(chains).where(*_is(chains, key)).with_for_update()).first()
        if row is None:
            first = {
                "seq": 0,
                "hash": genesis(key[1]),
                "first_utc": self._utc,
                "last_utc": self._utc,
                "head_session": 0,
            }
            insert_new(self._db, chains, [{**_named(key), **first}])
            row = self._db.execute(sa.select(chains).where(*_is(chains, key)).with_for_update()).one()
        return Chain(row.seq, bytes(row.hash)), row.head_session

    def _waiting(self, key: Key, chain: Chain, heap: Sequence[Arrived]) -> list[Arrived]:
        """Return what arrived earlier and waits, when the next one is here to let it follow."""
        if all(event.seq > chain.seq + 2 for event in heap):  # after a parked place the one behind it lets go on
            return []
        rows = self._db.execute(sa.select(ahead).where(*_is(ahead, key)).order_by(ahead.c.seq))
        return [_arrived(row) for row in rows]

    def _stepped_over(self, key: Key) -> frozenset[int]:
        rows = self._db.execute(sa.select(parked.c.seq).where(*_is(parked, key), parked.c.kind == "parked"))
        return frozenset(rows.scalars())

    def _keep(self, key: Key, before: Chain, result: Advance) -> None:
        if result.taken:
            self._db.execute(sa.insert(events), [self._row(event) for event in result.taken])
            self._settle(key, result.taken)
            self._unread(result.taken)
            self._signed(key, [event for event in result.taken if event.key])
        if result.chain != before:
            self._db.execute(
                sa.update(chains)
                .where(*_is(chains, key))
                .values(seq=result.chain.seq, hash=result.chain.hash, last_utc=self._utc)
            )
            self._db.execute(sa.delete(ahead).where(*_is(ahead, key), ahead.c.seq <= result.chain.seq))
        insert_new(self._db, ahead, [self._row(event) for event in result.ahead])
        self._old(key, result.old)
        for event in result.forked:
            self._conflict(event, "it does not follow the event kept before it")
        if missing := gap(result):
            bench, trail = key
            self._answers.agains[key] = Again(bench=bench, trail=trail, first=missing[0], last=missing[1])

    def _old(self, key: Key, old: Sequence[Arrived]) -> None:
        """Compare doubles with what is kept; a latecomer may fill a place that was parked."""
        if not old:
            return
        wanted = {event.seq for event in old} | {event.seq + 1 for event in old}
        rows = self._db.execute(
            sa.select(events.c.seq, events.c.prev, events.c.hash).where(*_is(events, key), events.c.seq.in_(wanted))
        ).all()
        hashes = {row.seq: bytes(row.hash) for row in rows}
        before = {row.seq - 1: bytes(row.prev) for row in rows}
        for event in old:
            kept = hashes.get(event.seq)
            if kept is None and before.get(event.seq) == event.hash:
                insert_new(self._db, events, [self._row(event)])
                self._db.execute(sa.delete(parked).where(*_is(parked, key), parked.c.seq == event.seq))
            elif kept != event.hash:
                self._conflict(event, "another event of this number is kept")

    # --- what is wrong ----------------------------------------------------------------------------------------------

    def _conflict(self, event: Arrived, what: str) -> None:
        self._alarm((event.bench, event.trail), event.seq, "conflict", what, event.data)
        self._nack(event, "conflict", f"The shop has another version of this trail: event {event.seq}: {what}")

    def _refuse(self, refused: Refused) -> None:
        key = refused.bench, refused.trail
        if refused.forged or not refused.seq:
            self._alarm(key, refused.seq, "forged" if refused.forged else "hostile", refused.reason, refused.payload)
            return
        here = (*_is(parked, key), parked.c.seq == refused.seq)
        row = self._db.execute(sa.select(parked.c.times).where(*here)).first()
        times = 1 if row is None else row.times + 1
        kind = "parked" if times >= PATIENCE else "refused"
        if row is not None:
            self._db.execute(sa.update(parked).where(*here).values(times=times, kind=kind))
        elif self._has_room(parked, refused.bench):
            self._db.execute(sa.insert(parked), [self._parked_row(refused, kind)])
        self._nack(refused, "parked" if kind == "parked" else "refused", refused.reason)

    def _parked_row(self, refused: Refused, kind: str) -> dict[str, object]:
        return {
            **_named((refused.bench, refused.trail)),
            "seq": refused.seq,
            "kind": kind,
            "times": 1,
            "reason": refused.reason[:500],
            "payload": refused.payload[:_MOST_KEPT],
            "utc": self._utc,
        }

    def _settle(self, key: Key, taken: Sequence[Arrived]) -> None:
        """Forget refusals of events that have come whole after all."""
        rows = self._db.execute(sa.select(parked.c.seq).where(*_is(parked, key), parked.c.kind != "unread"))
        settled = set(rows.scalars()) & {event.seq for event in taken}
        if settled:
            self._db.execute(sa.delete(parked).where(*_is(parked, key), parked.c.seq.in_(settled)))

    def _unread(self, taken: Sequence[Arrived]) -> None:
        rows = [
            {**self._parked_row(Refused(e.bench, e.trail, e.seq, e.unread, False, b""), "unread"), "times": 0}
            for e in taken
            if e.unread
        ]
        insert_new(self._db, parked, rows)

    def _signed(self, key: Key, signed: Sequence[Arrived]) -> None:
        if not signed:
            return
        insert_new(self._db, keys, [{"bench": key[0], "key": signed[0].key, "utc": self._utc}])
        known = self._db.execute(sa.select(keys.c.key).where(keys.c.bench == key[0])).scalar_one()
        for event in signed:
            if event.key != bytes(known):
                self._alarm(key, event.seq, "key", "it is signed by another key than this bench began with", event.key)

    def _nack(self, what: Arrived | Refused, kind: str, reason: str) -> None:
        self._answers.nacks[what.bench, what.trail, what.seq] = Nack.model_validate(
            {"bench": what.bench, "trail": what.trail, "seq": what.seq, "kind": kind, "reason": reason[:300]}
        )

    def _alarm(self, key: Key, seq: int, kind: str, what: str, payload: bytes) -> None:
        if not self._has_room(alarms, key[0]):
            return
        row = {"seq": seq, "kind": kind, "evidence": hashlib.sha256(payload).hexdigest(), "what": what[:500]}
        insert_new(self._db, alarms, [{**_named(key), **row, "payload": payload[:_MOST_KEPT], "utc": self._utc}])

    def _has_room(self, table: sa.Table, bench: str) -> bool:
        count = sa.select(sa.func.count()).select_from(table).where(table.c.bench == bench)
        return bool(self._db.execute(count).scalar_one() < MOST_PARKED)

    # --- births and ends --------------------------------------------------------------------------------------------

    def _state(self, said: BenchState) -> None:
        """Keep a birth or an end; a last will of an earlier connection, or an old birth replayed, changes nothing."""
        row = self._db.execute(sa.select(benches).where(benches.c.bench == said.bench).with_for_update()).first()
        values = {"session": said.session, "state": said.state, "utc": self._utc}
        if row is None:
            insert_new(self._db, benches, [{"bench": said.bench, **values}])
        elif said.session >= row.session:
            self._db.execute(sa.update(benches).where(benches.c.bench == said.bench).values(values))

    def _head(self, head: BenchHead, chain: Chain) -> None:
        """A trail that ends before what is kept of it was cut; a head speaks for the moment its session began."""
        key = head.bench, head.trail
        self._db.execute(sa.update(chains).where(*_is(chains, key)).values(head_session=head.session))
        if head.seq < chain.seq:
            what = f"the bench's trail ends at {head.seq}, but {chain.seq} of its events are kept"
            self._alarm(key, head.seq, "cut", what, head.hash.encode())

    def _row(self, event: Arrived) -> dict[str, object]:
        return {
            **_named((event.bench, event.trail)),
            "seq": event.seq,
            "prev": event.prev,
            "hash": event.hash,
            "bytes": event.data,
            "job": event.job,
            "key": event.key,
            "signature": event.signature,
            "utc": self._utc,
        }


def _named(key: Key) -> dict[str, object]:
    return {"bench": key[0], "trail": key[1]}


def _is(table: sa.Table, key: Key) -> tuple[sa.ColumnElement[bool], sa.ColumnElement[bool]]:
    return table.c.bench == key[0], table.c.trail == key[1]


def _arrived(row: sa.Row[tuple[object, ...]]) -> Arrived:
    seal = bytes(row.key), bytes(row.signature)
    return Arrived(row.bench, row.trail, row.seq, bytes(row.prev), bytes(row.hash), bytes(row.bytes), row.job, *seal)

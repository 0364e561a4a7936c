"""Events for the wire, made without a job: chained as a trail chains them, and read by the models of the trail."""

from dataclasses import dataclass, field

from logger.shop.topics import BenchTopics
from logger.shop.wire import EventSent, pack
from logger.shop.wireport import Message
from logger.trail.canonical import digest, encode, genesis
from logger.trail.read import StoredEvent

SHOP = "depot"
TRAIL = "0123456789abcdef0123456789abcdef"
OTHER = "f" * 32
NOON = "2025-01-01T12:00:00.000000Z"


def record(seq: int, text: str = "as it was", job: str = "j1", utc: str = NOON) -> dict[str, object]:
    return {
        "v": 1,
        "seq": seq,
        "job": job,
        "utc": utc,
        "mono_us": seq,
        "boot": "",
        "event": {"kind": "noted", "step": "", "text": f"{text} {seq}"},
        "shown": {"verdicts": {}, "prompt": ""},
    }


def chain(
    count: int, trail: str = TRAIL, text: str = "as it was", after: StoredEvent | None = None, utc: str = NOON
) -> list[StoredEvent]:
    """Return `count` events, from the first or after another."""
    seq, prev = (after.seq, after.hash) if after else (0, genesis(trail))
    made = []
    for number in range(seq + 1, seq + count + 1):
        data = encode(record(number, text, utc=utc))
        made.append(StoredEvent(number, prev, digest(prev, data), data))
        prev = made[-1].hash
    return made


def sent(event: StoredEvent, bench: str = "bay-1", trail: str = TRAIL, **changed: object) -> Message:
    """Return an event as it goes over the wire; `changed` spoils fields of the payload."""
    payload = EventSent(
        bench=bench,
        trail=trail,
        seq=event.seq,
        prev=event.prev.hex(),
        hash=event.hash.hex(),
        record=event.bytes.decode(),
    )
    topic = BenchTopics(SHOP, bench).event(trail, event.seq)
    return Message(topic, pack(payload.model_copy(update=changed)))


@dataclass
class ListSource:
    """A trail as a list, at the port of the outbox."""

    events: list[StoredEvent] = field(default_factory=list)
    trail: str = TRAIL

    def head(self) -> tuple[int, bytes]:
        return (self.events[-1].seq, self.events[-1].hash) if self.events else (0, genesis(self.trail))

    def after(self, seq: int, most: int) -> list[StoredEvent]:
        return self.events[seq : seq + most]

    def signatures(self, first: int, last: int) -> dict[int, tuple[bytes, bytes]]:
        return {}

    def hash_at(self, seq: int) -> bytes | None:
        if seq == 0:
            return genesis(self.trail)
        return self.events[seq - 1].hash if seq <= len(self.events) else None

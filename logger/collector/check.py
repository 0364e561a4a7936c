"""Whether a message may be believed, before anything of it is stored: size, form, sender and hash; pure."""

from dataclasses import dataclass
from typing import TypeVar

from pydantic import ValidationError

from logger.errors import BadInput
from logger.events import Record
from logger.shop.topics import COLLECTOR, Address, address
from logger.shop.wire import BenchHead, BenchState, EventSent, unpack
from logger.shop.wireport import Message
from logger.trail.canonical import decode, digest, encode
from logger.trail.keys import holds
from logger.trail.seal import message

_FEW = 100
"""Things unknown in one record that are looked at."""


@dataclass(frozen=True, slots=True)
class Arrived:
    """An event whose hash fits its bytes; whether it follows the one before is the chain's business."""

    bench: str
    trail: str
    seq: int
    prev: bytes
    hash: bytes
    data: bytes
    job: str
    key: bytes = b""
    signature: bytes = b""
    """Checked already; empty where the bench gave none."""
    unread: str = ""
    """Why this version cannot read the record (a newer program wrote it); it is kept all the same."""


@dataclass(frozen=True, slots=True)
class Refused:
    """A message that cannot be stored as an event."""

    bench: str
    trail: str
    seq: int
    reason: str
    forged: bool
    """Whether it speaks for another bench than its topic allows."""
    payload: bytes


Said = TypeVar("Said", BenchState, BenchHead)
Checked = Arrived | Refused | BenchState | BenchHead | None


def check(shop: str, sent: Message) -> Checked:
    """Return what a message is; None when it is none of this shop's."""
    place = address(shop, sent.topic)
    if place is None or place.bench == COLLECTOR:  # a collector hears of itself, and of others like it
        return None
    try:
        if place.leaf == "event":
            return _event(place, sent)
        if place.leaf == "$state":
            return _own(place, unpack(BenchState, sent.payload))
        if place.leaf == "$head":
            return _own(place, unpack(BenchHead, sent.payload))
    except _Forged as error:
        return Refused(place.bench, place.trail, place.seq, error.message, True, sent.payload)
    except BadInput as error:
        return Refused(place.bench, place.trail, place.seq, error.message, False, sent.payload)
    return None


class _Forged(BadInput):
    """The payload speaks for another bench, trail or event than its topic."""


def _own(place: Address, said: Said) -> Said:
    if said.bench != place.bench:
        raise _Forged(f"On the topic of bench {place.bench} it speaks for bench {said.bench}.", "Look who sent it.")
    return said


def _event(place: Address, carrier: Message) -> Arrived:
    sent = unpack(EventSent, carrier.payload)
    if (sent.bench, sent.trail, sent.seq) != (place.bench, place.trail, place.seq):
        raise _Forged(
            f"On the topic of {place.bench} event {place.seq} it speaks for {sent.bench} event {sent.seq}.",
            "Look who sent it.",
        )
    data, prev = sent.record.encode(), bytes.fromhex(sent.prev)
    if digest(prev, data).hex() != sent.hash:
        raise BadInput("Its bytes are not what was hashed.", "Send it again.")
    record = decode(data)
    if encode(record) != data or record.get("seq") != sent.seq:
        raise BadInput("Its bytes are not canonical, or carry another number.", "Send it again.")
    if (sent.key or sent.signature) and not _is_signed(sent):
        raise BadInput("Its signature does not hold.", "Send it again.")
    job = record.get("job")
    return Arrived(
        sent.bench,
        sent.trail,
        sent.seq,
        prev,
        bytes.fromhex(sent.hash),
        data,
        job[:64] if isinstance(job, str) else "",
        bytes.fromhex(sent.key),
        bytes.fromhex(sent.signature),
        _unread(data),
    )


def _is_signed(sent: EventSent) -> bool:
    over = message(sent.trail, sent.seq, bytes.fromhex(sent.hash))
    return holds(bytes.fromhex(sent.key), over, bytes.fromhex(sent.signature))


def _unread(data: bytes) -> str:
    try:
        Record.model_validate_json(data)
    except ValidationError as error:
        if (count := error.error_count()) > _FEW:  # each would be told of at length before the first can be had
            return f"{count} things in it are not known"
        first = error.errors(include_url=False, include_input=False)[0]
        return f"{'.'.join(str(part) for part in first['loc'])[:80]}: {first['msg'][:120]}"
    return ""

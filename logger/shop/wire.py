"""What goes over the wire: strict models, read only after size and form were checked, and their JSON schema; pure.

Numbers follow the rule of the trail: whole numbers only, decimals as text.
"""

from typing import Annotated, Literal, TypeVar

from pydantic import Field, StringConstraints, ValidationError
from pydantic.json_schema import models_json_schema

from logger.confined import BenchId, Confined
from logger.errors import BadInput
from logger.trail.canonical import MAX_BYTES, MAX_INT, decode, encode

TrailId = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{32}$")]
Hash = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Seq = Annotated[int, Field(ge=1, le=MAX_INT)]
Count = Annotated[int, Field(ge=0, le=MAX_INT)]
Short = Annotated[str, StringConstraints(max_length=300)]
Life = Literal["init", "ready", "sleeping", "disconnected", "lost"]
"""The words of `$state` in the Homie convention 5."""

MAX_PAYLOAD = MAX_BYTES
"""Octets; whatever is longer is refused before it is looked into."""
MAX_TOLD = 1 << 17
"""Octets of a payload that is no event: what a bench or the collector says of itself."""


class Wire(Confined):
    """The base of every payload."""

    v: Literal[1] = 1


class EventSent(Wire):
    """One event of a trail, its bytes exactly as stored."""

    bench: BenchId
    trail: TrailId
    seq: Seq
    prev: Hash
    hash: Hash
    record: str
    """The canonical JSON text that was hashed."""
    key: Annotated[str, StringConstraints(pattern=r"^([0-9a-f]{64})?$")] = ""
    signature: Annotated[str, StringConstraints(pattern=r"^([0-9a-f]{128})?$")] = ""
    """Of the bench over this head of its chain (Ed25519), where it made one."""


class BenchState(Wire):
    """A birth, an end or a last will; it is about the connection that `session` numbers."""

    bench: BenchId
    session: Count
    state: Life
    instance: Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{16}$")]
    """Chosen anew by each process, so that two with one name are told apart."""
    program: Short = ""


class BenchHead(Wire):
    """The end of a bench's trail when it connected; number 0 and the first hash of the chain while it is empty."""

    bench: BenchId
    session: Count
    trail: TrailId
    seq: Count
    hash: Hash


class JobNow(Wire):
    """What a bench is at; for eyes only, nothing is decided by it."""

    bench: BenchId
    session: Count
    job: Short
    by: Short
    machine: Short
    sheet: Short
    prompt: Short
    verdicts: dict[str, Count] = Field(max_length=16)
    """How many checks have each verdict."""
    last: Short = ""
    """The last verdict that changed, with its check."""
    overrides: tuple[Short, ...] = Field(default=(), max_length=64)
    closed: bool = False
    simulated: bool = False
    utc: Short = ""


class Ack(Wire):
    """All events up to `seq` are committed without a gap; `hash` is that of the last."""

    bench: BenchId
    trail: TrailId
    seq: Count
    hash: Hash


class Again(Wire):
    """Events `first` to `last` are missing: send them again."""

    bench: BenchId
    trail: TrailId
    first: Seq
    last: Seq


class Nack(Wire):
    """An event was not taken."""

    bench: BenchId
    trail: TrailId
    seq: Seq
    kind: Literal["refused", "parked", "conflict"]
    """`parked`: refused often enough, go on without it; `conflict`: another version of this trail is kept already."""
    reason: Short


class CollectorState(Wire):
    """Whether the collector takes events."""

    session: Count
    state: Life


Payload = TypeVar("Payload", bound=Wire)
MODELS: tuple[type[Wire], ...] = (EventSent, BenchState, BenchHead, JobNow, Ack, Again, Nack, CollectorState)


def pack(payload: Wire) -> bytes:
    """Return the octets of a payload, canonical JSON."""
    return encode(payload.model_dump(mode="json"))


def unpack(model: type[Payload], data: bytes) -> Payload:
    """Read a payload; BadInput when it is too long, no strict JSON, or not of this model."""
    most = MAX_PAYLOAD if model is EventSent else MAX_TOLD
    if len(data) > most:
        raise BadInput(f"The payload has {len(data)} octets; at most {most} are allowed.", "Refuse it.")
    found = decode(data)  # keys that stand twice, floats, NaN and deep nesting end here
    if more := found.keys() - model.model_fields.keys():  # before each of a hundred thousand is told of at length
        raise BadInput(f"The payload is no {model.__name__}: it has the key {min(more)[:60]!r}.", "Refuse it.")
    if model is EventSent and any(isinstance(value, list | dict) for value in found.values()):
        raise BadInput("The payload is no EventSent: each of its values is a text or a number.", "Refuse it.")
    try:
        return model.model_validate_json(data)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])[:60]
        raise BadInput(f"The payload is no {model.__name__}: {where}: {first['msg'][:120]}.", "Refuse it.") from error


def schema() -> dict[str, object]:
    """Return the JSON schema (draft 2020-12) of all payloads, made from the models."""
    _, made = models_json_schema([(model, "validation") for model in MODELS], title="Evenhand on the wire, version 1")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **made}

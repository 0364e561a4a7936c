"""Which characteristics of a tool a profile means, and so how the tool speaks; without I/O or state."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, Self, assert_never

from drivers.gatt import (
    BATTERY,
    DEVICE_INFORMATION,
    GENERIC_ACCESS,
    GENERIC_ATTRIBUTE,
    SIG_VALUES,
    PresentationFormat,
    ValueFormat,
)
from drivers.octets import FrameError
from drivers.profile.backlog import USUAL, Backlog
from drivers.profile.fields import Role
from drivers.profile.profile import ToolProfile
from drivers.profile.steady import COMMON, Steady
from drivers.profile.values import DescribedValue, NumberValue, SigValue, TextBase, TextValue, TypedValue, Value
from drivers.reading import Source

from .payload import Format, read_payload
from .said import Said

HOUSEKEEPING = frozenset({GENERIC_ACCESS, GENERIC_ATTRIBUTE, DEVICE_INFORMATION, BATTERY})
"""Services whose characteristics are never measured values."""


@dataclass(frozen=True, slots=True)
class Offered:
    """One characteristic that a tool offers to notify, with what its descriptors say."""

    handle: int
    uuid: str
    service: str
    description: str | None = None
    """Text of descriptor 0x2901."""
    presentation: bytes | None = None
    """Octets of descriptor 0x2904."""


@dataclass(frozen=True, slots=True)
class Bound:
    """One characteristic that is understood: its role and how its values travel."""

    handle: int
    uuid: str
    role: Role
    source: Source
    format: Format

    @property
    def terminator(self) -> bytes:
        """What ends a message that may come in several notifications; empty when each one is whole."""
        return self.format.terminator.encode() if isinstance(self.format, TextBase) else b""

    def read(self, payload: bytes) -> Said:
        """Return what a message says; FrameError, or its AsideError, when that is no reading."""
        return read_payload(self.format, payload)


@dataclass(frozen=True, slots=True)
class Speech:
    """How one tool speaks over one link: who it is, what it is, and what its characteristics mean."""

    tool: str
    """Identity of the tool."""
    kind: str
    duplicate_ms: int
    """The same frame again within so many milliseconds is a duplicate."""
    bound: tuple[Bound, ...]
    profile: str = ""
    """The name of the profile."""
    capture: Literal["button", "pedal", "steady"] = "button"
    steady: Steady = COMMON
    backlog: Backlog = USUAL
    sample_rate: int | None = None
    """Values of a stream, in Hz, where the profile states it."""

    @classmethod
    def by(cls, profile: ToolProfile, tool: str, bound: tuple[Bound, ...]) -> Self:
        """Return how a tool speaks that is read by this profile."""
        return cls(
            tool=tool,
            kind=profile.kind,
            duplicate_ms=profile.duplicate_ms,
            bound=bound,
            profile=profile.profile,
            capture=profile.capture,
            steady=profile.steady or COMMON,
            backlog=profile.backlog,
            sample_rate=profile.sample_rate,
        )

    def of(self, handle: int) -> Bound | None:
        """Return what the characteristic with this handle means, or None."""
        return next((b for b in self.bound if b.handle == handle), None)


def wanted(profiles: Iterable[ToolProfile], offered: Iterable[Offered]) -> tuple[int, ...]:
    """Return the handles that any of these profiles could mean, before any descriptor has been read."""
    values = [v for p in profiles for v in p.values]
    return tuple(o.handle for o in offered if any(_names(v, o) for v in values))


def _names(value: Value, offered: Offered) -> bool:
    if value.characteristic == "any":
        return offered.service not in HOUSEKEEPING
    return value.characteristic == offered.uuid


def bind(profile: ToolProfile, offered: Sequence[Offered]) -> tuple[Bound, ...]:
    """Return the characteristics that this profile understands; the first value that fits each one wins."""
    alike = Counter(o.uuid for o in offered)
    bound = (_bind(profile, o, alone=alike[o.uuid] == 1) for o in offered)
    return tuple(b for b in bound if b is not None)


def _bind(profile: ToolProfile, offered: Offered, *, alone: bool) -> Bound | None:
    for value in profile.values:
        if not _names(value, offered) or not _described_as(value.user_description, offered.description, alone):
            continue
        found = _value_format(value, offered)
        if found is not None and (value.role == "reading" or found.quantity == "torque"):
            return Bound(offered.handle, offered.uuid, value.role, _source(value), found)
    return None


def _described_as(asked: str | None, found: str | None, alone: bool) -> bool:
    if asked is None:
        return alone or not found
    return found is not None and found.strip().casefold() == asked.strip().casefold()


def _source(value: Value) -> Source:
    match value:
        case NumberValue() | TextValue() | TypedValue():
            return "profile"
        case SigValue() | DescribedValue():
            return value.decode
        case _:
            assert_never(value)


def _value_format(value: Value, offered: Offered) -> Format | None:
    match value:
        case NumberValue() | TextValue():
            return value
        case SigValue():
            return SIG_VALUES[offered.uuid]
        case DescribedValue():
            return _presented(offered.presentation)
        case TypedValue():
            return None  # it comes by the keyboard, and over no characteristic
        case _:
            assert_never(value)


def _presented(descriptor: bytes | None) -> ValueFormat | None:
    try:
        return None if descriptor is None else PresentationFormat.decode(descriptor).value_format()
    except FrameError:
        return None  # a characteristic in another unit (temperature, percent) is not a reading of ours


def choose(profiles: Iterable[ToolProfile], offered: Sequence[Offered]) -> tuple[ToolProfile, tuple[Bound, ...]] | None:
    """Return the first profile that understands anything the tool offers, with what it understands, or None."""
    for profile in profiles:
        bound = bind(profile, offered)
        if bound:
            return profile, bound
    return None

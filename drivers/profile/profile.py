"""ToolProfile: the description (TOML, no code) of how one kind of tool is recognised and how it speaks."""

import json
import re
import tomllib
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, ValidationError, model_validator

from drivers.tomlbounds import Bounds

from .backlog import USUAL, Backlog
from .fields import Amount, Strict, Uuid
from .namepattern import NAME_SEEN, usable
from .steady import Steady
from .values import Value

MAX_PROFILE_OCTETS = 64 * 1024
MAX_LINES = 2000
MAX_VECTORS = 400
MAX_SAID = 60
"""Characters of a key or a value that are said again where it is wrong."""
_BOUNDS = Bounds(MAX_LINES, line=1200, dots=8)
"""The longest line is a vector: the 512 octets of a frame as hex."""
_DECODES = 'it is one of "sig", "described", "number", "text", "typed"'


class ProfileError(ValueError):
    """A profile that cannot be used; the text says where, what was found and what is allowed."""


Pattern = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(usable)]
Kind = Literal["caliper", "torque wrench", "tape", "depth gauge"]


class Recognise(Strict):
    """What a tool of this kind advertises; where both are given, both must hold."""

    service: Uuid | None = None
    """A service UUID that it advertises."""
    name: Pattern | None = None
    """A regular expression searched for in its advertised name."""

    @model_validator(mode="after")
    def _something(self) -> "Recognise":
        if self.service is None and self.name is None:
            raise ValueError("give a service, a name pattern, or both")
        return self

    def matches(self, name: str, services: Sequence[str]) -> bool:
        """Say whether an advertisement is of this kind of tool."""
        if self.service is None and self.name is None:
            return False
        return (self.service is None or self.service in services) and (
            self.name is None or re.search(self.name, name[:NAME_SEEN]) is not None
        )


BY_NOTHING = Recognise.model_construct(service=None, name=None)
"""What a profile without the table has: it recognises no tool by itself, and is chosen by a person."""


class Vector(Strict):
    """One frame and what it says: the test that a profile carries with itself."""

    hex: str = Field(pattern=r"^([0-9a-fA-F]{2}){1,512}$")
    """The octets of the frame, or of a whole message where it comes in several."""
    characteristic: Uuid | None = None
    """On which characteristic; may be left out where the profile has one."""
    shown: str | None = Field(default=None, max_length=64)
    """What it says, such as "30.41 mm"."""
    display: str | None = Field(default=None, max_length=64)
    """What the tool's own display showed, where that was in another unit or with fewer digits."""
    aside: bool = False
    """It is another kind of message, and is set aside."""
    undecided: bool = False
    """It gives no reading, because something of it is not known."""

    @model_validator(mode="after")
    def _one(self) -> "Vector":
        if (self.shown is not None) + self.aside + self.undecided != 1:
            raise ValueError("a vector says what is shown, or aside = true, or undecided = true")
        return self

    @property
    def octets(self) -> bytes:
        """The frame."""
        return bytes.fromhex(self.hex)


class Pull(Strict):
    """When a pull of a torque wrench begins."""

    start: Decimal = Field(ge=0, allow_inf_nan=False, max_digits=12)
    """A sample above this, as text, begins a pull."""
    unit: Literal["N·m"] = "N·m"


class ToolProfile(Strict):
    """One kind of tool: how it is recognised, what it is, and what its values mean."""

    profile: str = Field(pattern=r"^[a-z][a-z0-9_-]{0,47}$")
    about: str = Field(default="", max_length=300)
    kind: Kind
    recognise: Recognise = BY_NOTHING
    """Left out, it recognises no tool by itself."""
    values: tuple[Value, ...] = Field(min_length=1, max_length=16)
    notify_mode: Literal["start", "acquire"] = "start"
    """How BlueZ is asked for notifications; some tools work with one of the two only."""
    duplicate_ms: int = Field(default=80, ge=0, le=2000)
    """The same frame of a reading or peak again within this time is a duplicate, in milliseconds."""
    pull: Pull | None = None
    capture: Literal["button", "pedal", "steady"] = "button"
    """What makes a value a reading: the tool's button, a pedal, or that the value has stood still."""
    steady: Steady | None = None
    """What standing still means, with capture "steady"; left out, `COMMON` of steady.py."""
    backlog: Backlog = USUAL
    """What becomes of readings taken while it was out of reach."""
    resolution: Amount | None = None
    """The step of its display."""
    accuracy: Amount | None = None
    """The largest error that its maker states, as plus or minus."""
    sample_rate: int | None = Field(default=None, ge=1, le=1000)
    """Values of a stream, in Hz."""
    own_peak: bool = False
    """Whether the tool finds the peak of a pull by itself."""
    vector: tuple[Vector, ...] = Field(default=(), max_length=MAX_VECTORS)

    @model_validator(mode="after")
    def _captured(self) -> "ToolProfile":
        if self.steady is not None and self.capture != "steady":
            raise ValueError(f'the table [steady] is for capture = "steady", not "{self.capture}"')
        if self.capture != "button" and self.kind == "torque wrench":
            raise ValueError(f'capture = "{self.capture}" is for lengths; a torque wrench is pulled')
        return self


def parse_profile(text: str, where: str) -> ToolProfile:
    """Read a profile from TOML text; ProfileError names `where`, the key, what was found and what is allowed."""
    if len(text.encode()) > MAX_PROFILE_OCTETS:
        raise ProfileError(f"{where} is larger than {MAX_PROFILE_OCTETS} octets; a profile never is.")
    if beyond := _BOUNDS.broken_by(text):
        raise ProfileError(f"{where}: {beyond}.")
    try:
        # Strict JSON is the one mode of pydantic that takes arrays for tuples and text for exact decimals.
        return ToolProfile.model_validate_json(json.dumps(tomllib.loads(text), allow_nan=False))
    except tomllib.TOMLDecodeError as error:
        raise ProfileError(f"{where} is not TOML: {error}.") from None
    except ValidationError as error:
        raise ProfileError(f"{where}: {_first(error)}") from None
    except (TypeError, ValueError, RecursionError) as error:
        raise ProfileError(f"{where} holds a value that no profile has: {error}.") from None


def _first(error: ValidationError) -> str:
    found = error.errors(include_url=False)[0]
    key = ".".join(str(part)[:MAX_SAID] for part in found["loc"]) or "the file"
    if found["type"].startswith("union_tag"):  # its own sentence says the whole tag again, however long
        tag = found.get("ctx", {}).get("tag")
        return f"{key}.decode: {_DECODES}, found {'none' if tag is None else repr(tag[:MAX_SAID])}."
    given = "" if found["type"] == "missing" or not found["loc"] else f", found {str(found['input'])[:MAX_SAID]!r}"
    return f"{key}: {found['msg']}{given}."


def ranked(profiles: Iterable[ToolProfile]) -> tuple[ToolProfile, ...]:
    """Return profiles in the order they are tried: service and name, then service, then name; else as given."""
    return tuple(sorted(profiles, key=_rank))


def _rank(profile: ToolProfile) -> tuple[bool, bool]:
    return profile.recognise.service is None, profile.recognise.name is None


def candidates(profiles: Iterable[ToolProfile], name: str, services: Sequence[str]) -> tuple[ToolProfile, ...]:
    """Return the profiles that an advertisement may belong to, in the order they are to be tried."""
    return tuple(p for p in ranked(profiles) if p.recognise.matches(name, [s.lower() for s in services]))


def foremost(fits: Sequence[ToolProfile]) -> tuple[ToolProfile, ...]:
    """Return those of the candidates that are as specific as the first: which one it is shows on connecting only."""
    return tuple(p for p in fits if _rank(p) == _rank(fits[0]))

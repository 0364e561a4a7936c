"""ToolProfile: the description (TOML, no code) of how one kind of tool is recognised and how it speaks."""

import json
import re
import tomllib
from collections.abc import Iterable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator

from .gatt import SIG_VALUES, uuid16

MAX_PROFILE_OCTETS = 64 * 1024
SHIPPED = Path(__file__).parent / "profiles"


class ProfileError(ValueError):
    """A profile that cannot be used; the text says where, what was found and what is allowed."""


class _Strict(BaseModel):
    model_config = ConfigDict(frozen=True, strict=True, extra="forbid")


def full_uuid(text: str) -> str:
    """Return the full lower-case UUID of "0x2C0B", "2C0B" or a full one; ValueError for anything else."""
    short = text.lower().removeprefix("0x")
    if re.fullmatch(r"[0-9a-f]{4}", short):
        return uuid16(int(short, 16))
    if re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", short):
        return short
    raise ValueError(f"{text!r} is not a UUID; write four hexadecimal digits or the full form")


def _pattern(text: str) -> str:
    try:
        re.compile(text)
    except re.error as error:
        raise ValueError(f"{text!r} is not a pattern: {error}") from None
    return text


Uuid = Annotated[str, Field(max_length=40), AfterValidator(full_uuid)]
Pattern = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(_pattern)]
Role = Literal["reading", "stream", "peak"]
Kind = Literal["caliper", "torque wrench", "tape", "depth gauge"]


class Recognise(_Strict):
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
        return (self.service is None or self.service in services) and (
            self.name is None or re.search(self.name, name) is not None
        )


class _Value(_Strict):
    role: Role
    """"reading": one value per press; "stream": values all the time; "peak": the peak of a pull."""
    user_description: str | None = Field(default=None, min_length=1, max_length=64)
    """Text of descriptor 0x2901; tells two characteristics of one UUID apart. A value without it takes a
    characteristic that has none, or that is the only one of its UUID."""


class SigValue(_Value):
    """A value of a Bluetooth SIG type: Torque, Length or Linear Position."""

    decode: Literal["sig"]
    characteristic: Uuid

    @model_validator(mode="after")
    def _known(self) -> "SigValue":
        value = SIG_VALUES.get(self.characteristic)
        if value is None:
            raise ValueError('decode "sig" knows 0x2C0B (torque), 0x2C0A (length), 0x2C08 (linear position)')
        if self.role != "reading" and value.quantity != "torque":
            raise ValueError(f"a length can only be a reading, not a {self.role}")
        return self


class DescribedValue(_Value):
    """A number that descriptor 0x2904 describes, with a unit we know."""

    decode: Literal["described"]
    characteristic: Uuid | Literal["any"] = "any"


Value = Annotated[SigValue | DescribedValue, Field(discriminator="decode")]


class Pull(_Strict):
    """When a pull of a torque wrench begins."""

    start: Decimal = Field(ge=0, allow_inf_nan=False, max_digits=12)
    """A sample above this, as text, begins a pull."""
    unit: Literal["N·m"] = "N·m"


class ToolProfile(_Strict):
    """One kind of tool: how it is recognised, what it is, and what its values mean."""

    profile: str = Field(pattern=r"^[a-z][a-z0-9_-]{0,47}$")
    about: str = Field(default="", max_length=300)
    kind: Kind
    recognise: Recognise
    values: tuple[Value, ...] = Field(min_length=1, max_length=16)
    notify_mode: Literal["start", "acquire"] = "start"
    """How BlueZ is asked for notifications; some tools work with one of the two only."""
    duplicate_ms: int = Field(default=80, ge=0, le=2000)
    """The same frame of a reading or peak again within this time is a duplicate, in milliseconds."""
    pull: Pull | None = None


def parse_profile(text: str, where: str) -> ToolProfile:
    """Read a profile from TOML text; ProfileError names `where`, the key, what was found and what is allowed."""
    if len(text.encode()) > MAX_PROFILE_OCTETS:
        raise ProfileError(f"{where} is larger than {MAX_PROFILE_OCTETS} octets; a profile never is.")
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
    key = ".".join(str(part) for part in found["loc"]) or "the file"
    given = "" if found["type"] == "missing" else f", found {str(found['input'])[:60]!r}"
    return f"{key}: {found['msg']}{given}."


def read_profile(path: Path) -> ToolProfile:
    """Read a profile file; ProfileError when it is missing, not UTF-8, or not a profile."""
    try:
        with path.open("rb") as file:
            octets = file.read(MAX_PROFILE_OCTETS + 1)
        return parse_profile(octets.decode("utf-8"), path.name)
    except OSError as error:
        raise ProfileError(f"{path} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise ProfileError(f"{path.name} is not UTF-8 text.") from None


def shipped_profiles() -> tuple[ToolProfile, ...]:
    """Return the profiles that come with the program, most specific first."""
    return ranked(read_profile(path) for path in sorted(SHIPPED.glob("*.toml")))


def ranked(profiles: Iterable[ToolProfile]) -> tuple[ToolProfile, ...]:
    """Return profiles in the order they are tried: service and name, then service, then name; else as given."""
    return tuple(sorted(profiles, key=lambda p: (p.recognise.service is None, p.recognise.name is None)))


def candidates(profiles: Iterable[ToolProfile], name: str, services: Sequence[str]) -> tuple[ToolProfile, ...]:
    """Return the profiles that an advertisement may belong to, in the order they are to be tried."""
    return tuple(p for p in ranked(profiles) if p.recognise.matches(name, [s.lower() for s in services]))

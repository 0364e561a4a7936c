"""A profile held against frames: what it says of one payload, and whether its own vectors still hold."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import assert_never

from drivers.gatt import SIG_VALUES
from drivers.octets import FrameError, Special
from drivers.profile.profile import ToolProfile, Vector
from drivers.profile.values import DescribedValue, NumberValue, SigValue, TextValue, TypedValue, Value

from .payload import Format, read_payload, write_payload
from .said import AsideError, Said


@dataclass(frozen=True, slots=True)
class Heard:
    """What one value of a profile makes of a payload."""

    characteristic: str
    role: str
    said: Said | None = None
    reason: str = ""
    """Why there is no reading."""
    aside: bool = False
    again: bytes | None = None
    """The payload written again from what was read; None where nothing was read or the value cannot be written."""

    def __str__(self) -> str:
        if self.said is not None:
            return str(self.said)
        return f"{'set aside' if self.aside else 'no reading'}: {self.reason}"


def hear(profile: ToolProfile, payload: bytes, characteristic: str | None = None) -> tuple[Heard, ...]:
    """Return what each value of a profile makes of a payload; values by descriptor 0x2904 need the tool itself."""
    return tuple(
        _hear(value, by, payload)
        for value in profile.values
        if (by := _format(value)) is not None and (characteristic is None or value.characteristic == characteristic)
    )


def _format(value: Value) -> Format | None:
    match value:
        case NumberValue() | TextValue() | TypedValue():
            return value
        case SigValue():
            return SIG_VALUES[value.characteristic]
        case DescribedValue():
            return None  # only the tool's own descriptor says how it reads
        case _:
            assert_never(value)


def _hear(value: Value, by: Format, payload: bytes) -> Heard:
    try:
        said = read_payload(by, payload)
    except FrameError as error:
        return Heard(value.characteristic, value.role, None, str(error), isinstance(error, AsideError))
    if isinstance(said.value, Special):
        return Heard(value.characteristic, value.role, None, f"The tool sent no number but: {said.value}.")
    return Heard(value.characteristic, value.role, said, again=_written(by, said, payload))


def _written(by: Format, said: Said, payload: bytes) -> bytes | None:
    try:
        return write_payload(by, said, payload)
    except FrameError:
        return None


def broken(profile: ToolProfile) -> tuple[str, ...]:
    """Return a sentence for each vector of a profile that does not hold: what it says, or that it differs rewritten."""
    return tuple(_broken(profile))


def _broken(profile: ToolProfile) -> Iterator[str]:
    for number, vector in enumerate(profile.vector, 1):
        heard = hear(profile, vector.octets, vector.characteristic)
        if not any(_holds(vector, each) for each in heard):
            what = "; ".join(str(each) for each in heard) or "no value of the profile is on its characteristic"
            wanted = vector.shown or ("set aside" if vector.aside else "no reading")
            yield f"vector {number} ({vector.hex[:64]}): expected {wanted}, found {what}"


def _holds(vector: Vector, heard: Heard) -> bool:
    if heard.said is None:
        return (vector.aside and heard.aside) or (vector.undecided and not heard.aside)
    return vector.shown == str(heard.said) and heard.again == vector.octets

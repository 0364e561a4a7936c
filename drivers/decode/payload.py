"""One payload <-> what it says, in whichever of the three formats it has; without I/O or state."""

from typing import assert_never

from drivers.gatt import ValueFormat
from drivers.profile.values import NumberValue, TextBase

from .numbers import read_number, write_number
from .said import Said
from .texts import read_text, write_text

Format = ValueFormat | NumberValue | TextBase
"""How a payload lies, once it is known: of the Bluetooth SIG or a descriptor, a number of a profile, a text of one."""


def read_payload(by: Format, payload: bytes) -> Said:
    """Return what a payload says; FrameError, or its AsideError, when that is no reading."""
    match by:
        case NumberValue():
            return read_number(by, payload)
        case TextBase():
            return read_text(by, payload)
        case ValueFormat():
            return Said(by.decode(payload), by.unit, by.quantity)
        case _:
            assert_never(by)


def write_payload(by: Format, said: Said, over: bytes) -> bytes:
    """Return the payload that says this; what the format leaves open stays as it is in `over`.

    FrameError when the format cannot carry the number or the unit.
    """
    match by:
        case NumberValue():
            return write_number(by, said.value, said.unit, over)
        case TextBase():
            return write_text(by, said.value, said.unit, over)
        case ValueFormat():
            return by.encode(said.value)
        case _:
            assert_never(by)

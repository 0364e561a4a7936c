"""The [radio] and [keys] tables of settings.toml: which adapter, how many tools, and keys of a pedal or presenter."""

import re
from collections import Counter
from typing import Annotated

from pydantic import Field, model_validator

from logger.confined import Confined

_ADDRESS = re.compile(r"([0-9A-Fa-f]{2}:){5}[0-9A-Fa-f]{2}")
_KEY = re.compile(r"((ctrl|shift|alt)\+){0,2}(f([1-9]|1[0-9]|2[0-4])|pageup|pagedown|home|end|insert)")
_TAKEN = re.compile(r"f([1-9]|1[0-2])")
_TYPED = frozenset({"enter", "tab", "space", "return", "backspace", "plus", "minus", "full_stop", "comma"})
ALLOWED = "f13 to f24, pageup, pagedown, home, end or insert, or one of these or f1 to f12 after ctrl+, shift+ or alt+"


class RadioSettings(Confined):
    """The [radio] table: the Bluetooth adapter, and how many tools are linked at once."""

    adapter: str = ""
    """Address of the adapter to use; empty: the first one found."""
    max_tools: Annotated[int, Field(ge=1, le=16)] = 4
    """Of more tools than this in reach, the one that rests longest gives way."""

    @model_validator(mode="after")
    def _is_address(self) -> "RadioSettings":
        if self.adapter and _ADDRESS.fullmatch(self.adapter) is None:
            raise ValueError(
                "adapter is an address such as 00:00:5E:00:53:01; a name such as hci0 may be another one tomorrow"
            )
        return self


class KeySettings(Confined):
    """The [keys] table: a further key for what a function key does, as a foot pedal or presenter sends it."""

    confirm: str = ""
    take_back: str = ""
    note: str = ""
    as_advised: str = ""
    otherwise: str = ""
    loosened: str = ""
    override: str = ""
    close_job: str = ""
    pedal: str = ""

    @property
    def given(self) -> dict[str, str]:
        """The keys that were given, by what they do."""
        return {name: key for name, key in self.model_dump().items() if key}

    @model_validator(mode="after")
    def _usable(self) -> "KeySettings":
        for name, key in self.given.items():
            if fault := _fault(key):
                raise ValueError(f'{name} = "{key[:24]}": {fault}; take {ALLOWED}')
        for key, times in Counter(self.given.values()).items():
            if times > 1:
                raise ValueError(f'the key "{key}" stands for {times} things; give each its own')
        return self


def _fault(key: str) -> str:
    if len(key) == 1 or key in _TYPED or key in {"ctrl+m", "ctrl+j", "ctrl+i"}:
        return "a measuring tool can type this key"
    if _TAKEN.fullmatch(key):
        return "this key has its meaning already"
    return "" if _KEY.fullmatch(key) else "this is no key that can be given a meaning"

"""What bleak speaks through: the system's own radio, or another in its place."""

from dataclasses import dataclass

from bleak.backends.adapter import BaseBleakAdapter
from bleak.backends.client import BaseBleakClient
from bleak.backends.scanner import BaseBleakScanner


@dataclass(frozen=True, slots=True)
class Backends:
    """Classes that stand in for those of the system's own radio, all of one kind; None: the system's own."""

    scanner: type[BaseBleakScanner] | None = None
    client: type[BaseBleakClient] | None = None
    adapter: type[BaseBleakAdapter] | None = None


SYSTEM = Backends()

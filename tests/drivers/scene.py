"""A clock, an air with tools on it, and the real radio: what the tests of the radio in process begin with."""

import asyncio
from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import TypeVar

from bleak.backends.adapter import BaseBleakAdapter

from drivers.gatt import PresentationFormat
from drivers.profile.profile import ToolProfile
from drivers.radio.ble import Radio
from drivers.radio.supervise import Timing
from drivers.reading import Arrival, Link
from simulators.air import Air, AirClient
from simulators.clock import SimClock
from simulators.tools import Label, SimCaliper, SimCharacteristic, SimService, SimTool, SimWrench

from .stage import PROFILES, is_link, until

T = TypeVar("T", bound=SimTool)
SOON = Timing(connect_s=0.2, close_s=0.2, poll_s=0.01, quiet_s=30.0, asleep_s=0.05)
LIMIT_S = 10
OWN_SERVICE, OWN = "7a5b0000-0d5e-4c1c-9c3a-3f1a6f0c9e01", "7a5b0001-0d5e-4c1c-9c3a-3f1a6f0c9e01"


@dataclass
class Scene:
    """One workshop in simulated time."""

    clock: SimClock = field(default_factory=SimClock)
    air: Air = field(default_factory=Air)

    def caliper(self, serial: str = "DC-0417", millimetres: str = "36.2") -> SimCaliper:
        """Put a caliper on the air."""
        return self._add(SimCaliper(serial, "Bench caliper", lambda: Decimal(millimetres), self.clock))

    def wrench(self, serial: str = "TW-2203") -> SimWrench:
        """Put a torque wrench on the air."""
        return self._add(SimWrench(serial, "Bench wrench", self.clock))

    def own(self, name: str, *values: SimCharacteristic) -> SimTool:
        """Put a tool of nobody's service on the air."""
        return self._add(SimTool(name, Label("N-1"), SimService(OWN_SERVICE, list(values)), self.clock))

    def _add(self, tool: T) -> T:
        self.air.add(tool)
        return tool

    def client(self, backend: type[AirClient]) -> type[AirClient]:
        """Let the radio use a client of the test's own on this air; return it as it is used."""
        made = type("ClientHere", (backend,), {"air": self.air})
        self.air.client_backend = made
        return made

    @asynccontextmanager
    async def radio(
        self,
        *,
        profiles: Iterable[ToolProfile] = PROFILES,
        max_tools: int = 4,
        adapter: type[BaseBleakAdapter] | None = None,
        timing: Timing = SOON,
    ) -> AsyncIterator[Radio]:
        """Give the radio, listening."""
        radio = Radio(
            profiles,
            self.clock,
            backends=replace(self.air.backends, adapter=adapter),
            max_tools=max_tools,
            timing=timing,
            jitter=lambda: 0.0,
        )
        async with asyncio.timeout(LIMIT_S), radio:
            yield radio

    @asynccontextmanager
    async def ready(self, *, profiles: Iterable[ToolProfile] = PROFILES, timing: Timing = SOON) -> AsyncIterator[Radio]:
        """Give the radio once every tool on the air is ready."""
        async with self.radio(profiles=profiles, timing=timing) as radio:
            for _ in self.air.tools:
                await until(radio, is_link(Link.READY))
            yield radio


def value(presentation: str, uuid: str = OWN) -> SimCharacteristic:
    """Return a characteristic that notifies, described by the octets of its descriptor 0x2904."""
    return SimCharacteristic(uuid, ("notify",), presentation=PresentationFormat.decode(bytes.fromhex(presentation)))


INCHES, PERCENT = "0efca227010000", "0400ad27010000"


async def settle(radio: Radio) -> list[Arrival]:
    """Return what arrives until nothing has for a moment."""
    found: list[Arrival] = []
    try:
        async with asyncio.timeout(0.03):
            while True:
                found.append(await radio.next())
    except TimeoutError:
        return found

"""Simulated tools: a GATT table each, with behaviour; every value goes through the encoders of the drivers.

A tool knows nothing of what carries it: an `Air` (or any other carrier) listens for its advertisements and gives it
a `Peer` for as long as it is linked.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Literal, Protocol

from drivers import gatt
from drivers.octets import Number

from .clock import Pace

Property = Literal["read", "notify"]
TORQUE_RESOLUTION = Decimal("0.01")
"""N·m: the SIG torque type counts in it."""
CHATTER_MS = 30
"""A worn button closes twice within this time."""


class NotOnAirError(Exception):
    """The tool is asleep or linked already."""


class Peer(Protocol):
    """The other end of a link."""

    def notify(self, handle: int, payload: bytes) -> None:
        """Take one notification."""
        ...

    def lost(self) -> None:
        """The link has gone without being asked to."""
        ...


@dataclass(slots=True)
class SimCharacteristic:
    """One characteristic: its value for reading, and what its descriptors say; `handle` is given by the table."""

    uuid: str
    properties: tuple[Property, ...]
    value: bytes = b""
    description: str = ""
    presentation: gatt.PresentationFormat | None = None
    handle: int = 0

    def descriptors(self) -> dict[str, bytes]:
        """Return the descriptors by UUID."""
        found = {gatt.USER_DESCRIPTION: self.description.encode()} if self.description else {}
        if self.presentation is not None:
            found[gatt.PRESENTATION_FORMAT] = self.presentation.encode()
        return found


@dataclass(slots=True)
class SimService:
    """One service with its characteristics."""

    uuid: str
    characteristics: list[SimCharacteristic]
    handle: int = 0


@dataclass(slots=True)
class Label:
    """What a tool says of itself; an empty text or None is not offered at all."""

    serial: str = ""
    model: str = ""
    firmware: str = "1.0"
    battery: int | None = 90
    """In percent."""

    def services(self) -> list[SimService]:
        """Return the Device Information and Battery services."""
        texts = {
            gatt.SERIAL_NUMBER: self.serial,
            gatt.MODEL_NUMBER: self.model,
            gatt.FIRMWARE_REVISION: self.firmware,
        }
        told = [SimCharacteristic(uuid, ("read",), text.encode()) for uuid, text in texts.items() if text]
        found = [SimService(gatt.DEVICE_INFORMATION, told)] if told else []
        if self.battery is not None:
            level = SimCharacteristic(gatt.BATTERY_LEVEL, ("read", "notify"), bytes([self.battery]))
            found.append(SimService(gatt.BATTERY, [level]))
        return found


@dataclass(slots=True, eq=False)
class SimTool:
    """A tool with a radio: advertises while it is awake and not linked, and sends only to who subscribed."""

    name: str
    label: Label
    measured: SimService
    clock: Pace
    rssi: int = -58
    """Signal strength in dBm."""
    awake: bool = True
    peer: Peer | None = None
    subscribed: set[int] = field(default_factory=set)
    on_air: list[Callable[["SimTool"], None]] = field(default_factory=list)
    """Told whenever the tool begins to advertise."""
    kept: list[tuple[int, bytes]] = field(default_factory=list)
    """By handle: what it measured out of reach, which it sends as soon as that is subscribed to."""
    services: list[SimService] = field(init=False)

    def __post_init__(self) -> None:
        self.services = [*self.label.services(), self.measured]
        handle = 0
        for service in self.services:
            service.handle = handle = handle + 1
            for characteristic in service.characteristics:
                characteristic.handle = handle + 2
                # the declaration, the value, its configuration and its other descriptors have a handle each
                handle = characteristic.handle + 1 + len(characteristic.descriptors())

    @property
    def advertising(self) -> bool:
        """Whether the tool can be heard and connected."""
        return self.awake and self.peer is None

    def advertised_services(self) -> list[str]:
        """Return the service UUIDs that the tool advertises."""
        return [self.measured.uuid]

    def characteristic(self, handle: int) -> SimCharacteristic:
        """Return the characteristic with this handle; KeyError when there is none."""
        for service in self.services:
            for found in service.characteristics:
                if found.handle == handle:
                    return found
        raise KeyError(handle)

    def accept(self, peer: Peer) -> None:
        """Take a connection; NotOnAirError when the tool is asleep or linked."""
        if not self.advertising:
            raise NotOnAirError(f"{self.name} does not answer")
        self.peer = peer

    def release(self) -> None:
        """The other end disconnected."""
        self.peer = None
        self.subscribed.clear()
        self._advertise()

    def drop(self) -> None:
        """Lose the link, as out of range, and be heard again at once."""
        self._lose()
        self._advertise()

    def sleep(self) -> None:
        """Fall silent until woken."""
        self.awake = False
        self._lose()

    def wake(self) -> None:
        """Begin to advertise; a press does this too."""
        self.awake = True
        self._advertise()

    def send(self, characteristic: SimCharacteristic, payload: bytes) -> None:
        """Notify whoever subscribed; with nobody there, what was measured is gone."""
        if self.peer is not None and characteristic.handle in self.subscribed:
            self.peer.notify(characteristic.handle, payload)

    def subscribe(self, handle: int) -> None:
        """Take a subscription, and send what was kept for it."""
        self.subscribed.add(handle)
        kept, self.kept = self.kept, [each for each in self.kept if each[0] != handle]
        for at, payload in kept:
            if at == handle and self.peer is not None:
                self.peer.notify(handle, payload)

    def _lose(self) -> None:
        peer, self.peer = self.peer, None
        self.subscribed.clear()
        if peer is not None:
            peer.lost()

    def _advertise(self) -> None:
        if self.advertising:
            for told in self.on_air:
                told(self)

    def _rouse(self) -> bool:
        """Wake a sleeping tool; True when that is all that the touch did."""
        if self.awake:
            return False
        self.wake()
        return True


class SimCaliper(SimTool):
    """A caliper (or depth gauge, or tape, by its name) that sends a Length at each press of its button.

    `measure` returns what lies between its jaws, in mm; the caliper shows and sends it in steps of `resolution`.
    A value below zero goes out as Linear Position, since the Length type has no sign.
    """

    def __init__(
        self,
        serial: str,
        name: str,
        measure: Callable[[], Decimal],
        clock: Pace,
        *,
        resolution: Decimal = Decimal("0.01"),
        model: str = "Sliding gauge 150",
        battery: int | None = 90,
    ) -> None:
        self.length = SimCharacteristic(gatt.LENGTH, ("notify",))
        self.position = SimCharacteristic(gatt.LINEAR_POSITION, ("notify",))
        service = SimService(gatt.INDUSTRIAL_MEASUREMENT, [self.length, self.position])
        super().__init__(name, Label(serial, model, battery=battery), service, clock)
        self.measure = measure
        self._resolution = resolution

    def press(self) -> None:
        """Press the button: send what is measured; a sleeping caliper only wakes."""
        if not self._rouse():
            self._send(self._shown())

    def keep(self, *millimetres: Decimal) -> None:
        """Measure out of reach: the readings are sent when the tool is subscribed to next."""
        self.kept += [(self.length.handle, sig_payload(self.length, each)) for each in millimetres]

    async def press_twice(self) -> None:
        """Press a worn button: the same value goes out twice within its chatter."""
        if not self._rouse():
            shown = self._shown()
            self._send(shown)
            await self.clock.pass_ms(CHATTER_MS)
            self._send(shown)

    def _shown(self) -> Decimal:
        return stepped(self.measure(), self._resolution)

    def _send(self, shown: Decimal) -> None:
        characteristic = self.length if shown >= 0 else self.position
        self.send(characteristic, sig_payload(characteristic, shown))


class SimWrench(SimTool):
    """A torque wrench that streams torque while it is pulled, and sends its own peak after the release."""

    def __init__(
        self,
        serial: str,
        name: str,
        clock: Pace,
        *,
        model: str = "Lever 200",
        battery: int | None = 85,
    ) -> None:
        self.stream = SimCharacteristic(gatt.TORQUE, ("notify",), description="Torque stream")
        self.peak = SimCharacteristic(gatt.TORQUE, ("notify",), description="Torque peak")
        service = SimService(gatt.INDUSTRIAL_MEASUREMENT, [self.stream, self.peak])
        super().__init__(name, Label(serial, model, battery=battery), service, clock)

    async def pull(self, curve: Sequence[Decimal], dt_ms: int = 10) -> None:
        """Pull by a curve of torques in N·m, one every `dt_ms`, then send the peak; a sleeping wrench only wakes.

        The peak is the largest torque whichever way it turned, with its sign.
        """
        if self._rouse():
            return
        felt = [stepped(torque, TORQUE_RESOLUTION) for torque in curve]
        for torque in felt:
            self.send(self.stream, sig_payload(self.stream, torque))
            await self.clock.pass_ms(dt_ms)
        if felt:
            self.send(self.peak, sig_payload(self.peak, max(felt, key=abs)))

    def press(self) -> None:
        """Press the power button: it wakes the wrench and nothing else."""
        self._rouse()


def stepped(value: Decimal, step: Decimal) -> Decimal:
    """Return a value as a display with this step shows it."""
    return (value / step).quantize(Decimal(1), rounding=ROUND_HALF_EVEN) * step


def sig_payload(characteristic: SimCharacteristic, value: Number) -> bytes:
    """Return the octets of a value by the SIG type of a characteristic."""
    return gatt.SIG_VALUES[characteristic.uuid].encode(value)

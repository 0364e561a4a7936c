"""What the stand-in for BlueZ is told to do, by lines: `press DC-1 36.2`, `drop DC-1`, `power off` ...

Each line is answered by one line of JSON on stdout, with the number of the line; commands that take time (a pull, a
stream) do not hold up those after them. `help` lists them all.
"""

import asyncio
import json
import shlex
import sys
from collections.abc import Awaitable, Callable, Mapping
from decimal import Decimal, DecimalException
from functools import partial
from typing import TYPE_CHECKING, Protocol

from simulators.clock import HumanPace
from simulators.tools import Label, SimCaliper, SimCharacteristic, SimService, SimTool, SimWrench, sig_payload

from .table import RefusedError

if TYPE_CHECKING:
    from .device import Device
    from .faults import Faults

LINE_LIMIT = 4_000_000
UNMET_SERVICE, UNMET_VALUE = (f"0000{short}-0000-1000-8000-00805f9b34fb" for short in ("ffe0", "ffe1"))
Answer = Mapping[str, object]
_BATCH = 32
"""A stream without a pace gives everybody else a turn after this many."""


class TalkError(Exception):
    """A command or a tool's description that is not understood, in one sentence."""


class Host(Protocol):
    """What the commands need of the stand-in."""

    faults: "Faults"

    @property
    def devices(self) -> "dict[str, Device]":
        """The tools by their paths."""
        ...

    @property
    def scanning(self) -> bool:
        """Whether anybody scans."""
        ...

    def plug(self, on: bool, central: bool = True, name: str = "hci0") -> None:
        """Plug the adapter in, under a name that the system gives it, or out."""
        ...

    def spare(self, name: str) -> None:
        """Plug in a second adapter that hears nothing, or pull it out."""
        ...

    def power(self, on: bool) -> None:
        """Switch the adapter on, or off."""
        ...

    def deafen(self, scans: int) -> None:
        """Let some scans hear nothing."""
        ...

    def forget(self, path: str) -> None:
        """Forget a device."""
        ...


def make_tool(spec: str) -> SimTool:
    """Return the tool of a description `KIND:SERIAL[:NAME[:asleep]]`; TalkError otherwise.

    KIND is caliper, wrench, or unmet: a tool that no profile knows, which says what `send` gives it.
    """
    kind, _, rest = spec.partition(":")
    serial, _, rest = rest.partition(":")
    name, _, state = rest.partition(":")
    if kind not in ("caliper", "wrench", "unmet") or not serial or state not in ("", "asleep"):
        raise TalkError(f'"{spec}" is no tool; say KIND:SERIAL[:NAME[:asleep]] with KIND caliper, wrench or unmet.')
    tool: SimTool
    if kind == "caliper":
        tool = SimCaliper(serial, name or "Bench caliper", Decimal, HumanPace())
    elif kind == "wrench":
        tool = SimWrench(serial, name or "Bench wrench", HumanPace())
    else:
        service = SimService(UNMET_SERVICE, [SimCharacteristic(UNMET_VALUE, ("notify",))])
        tool = SimTool(name or "Depot gauge", Label(serial), service, HumanPace())
    tool.awake = state != "asleep"
    return tool


class Commands:
    """The commands of one stand-in."""

    def __init__(self, host: Host) -> None:
        self._host = host
        self._by_serial = {device.tool.label.serial: device for device in host.devices.values()}
        self._verbs: dict[str, tuple[str, Callable[..., object]]] = {
            "press": ("TOOL [MM]: press the button of a caliper, or the power button", self._press),
            "press-twice": ("TOOL MM: the button chatters", self._press_twice),
            "keep": ("TOOL MM...: a caliper measures out of reach, and sends it when it is linked next", self._keep),
            "pull": ("TOOL MS TORQUE...: pull a wrench by a curve in N·m, one torque every MS", self._pull),
            "send": ("TOOL HEX: send octets as its first measured value", self._send),
            "stream": ("TOOL COUNT MS: send counted values, one every MS; 0 is as fast as it goes", self._stream),
            "drop": ("TOOL: lose the link, and advertise again", lambda t: self._tool(t).drop()),
            "sleep": ("TOOL: fall silent until woken", lambda t: self._tool(t).sleep()),
            "wake": ("TOOL: advertise again", lambda t: self._tool(t).wake()),
            "forget": ("TOOL: BlueZ forgets it", lambda t: host.forget(self._device(t).path)),
            "power": ("on|off: the adapter", lambda word: host.power(_on(word))),
            "plug": ("on|off|deaf [NAME]: the adapter, as hci0 or NAME; deaf has no low energy", self._plug),
            "spare": ("NAME|off: a second adapter, which hears nothing", self._spare),
            "wedge": ("N: this scan, and others up to N, hear nothing", lambda n: host.deafen(_number(n))),
            "fail": ("METHOD N ERROR [TEXT]: the next N calls are answered so", self._fail),
            "hang": ("METHOD N: the next N calls get no answer", self._hang),
            "repeat": ("N: each notification goes out N times more", self._repeat),
            "leak": ("TOOL N: over the present link each notification goes out N times more", self._leak),
            "delay": ("MS: notifications go out that much later", self._delay),
            "state": ("tell what is connected, subscribed and sent", self._state),
            "sent": ("TOOL: the monotonic moments (ns) of what it sent", self._sent),
            "help": ("these commands", self._help),
        }

    async def obey(self, line: str) -> Answer:
        """Do what one line says and return what there is to tell; TalkError when it is not understood."""
        try:
            word, *rest = shlex.split(line)
            found = self._verbs[word][1](*rest)
            told = await found if isinstance(found, Awaitable) else found
        except (ValueError, TypeError, KeyError, DecimalException, RefusedError) as error:
            raise TalkError(f"Not understood: {line[:80]} ({error}); help lists the commands.") from error
        return told if isinstance(told, dict) else {}

    def _device(self, serial: str) -> "Device":
        return self._by_serial[serial]

    def _tool(self, serial: str) -> SimTool:
        return self._device(serial).tool

    def _caliper(self, serial: str, mm: str = "") -> SimCaliper:
        tool = self._tool(serial)
        if not isinstance(tool, SimCaliper):
            raise TypeError(f"{serial} is no caliper")
        if mm:
            tool.measure = partial(Decimal, Decimal(mm))  # the text is checked now, not at the press
        return tool

    def _wrench(self, serial: str) -> SimWrench:
        tool = self._tool(serial)
        if not isinstance(tool, SimWrench):
            raise TypeError(f"{serial} is no wrench")
        return tool

    def _press(self, serial: str, mm: str = "") -> None:
        tool = self._tool(serial)
        if isinstance(tool, SimWrench):
            tool.press()
        else:
            self._caliper(serial, mm).press()

    def _keep(self, serial: str, *millimetres: str) -> None:
        self._caliper(serial).keep(*(Decimal(each) for each in millimetres))

    def _press_twice(self, serial: str, mm: str) -> Awaitable[None]:
        return self._caliper(serial, mm).press_twice()

    def _pull(self, serial: str, ms: str, *curve: str) -> Awaitable[None]:
        return self._wrench(serial).pull([Decimal(each) for each in curve], _number(ms))

    def _send(self, serial: str, payload: str) -> None:
        tool = self._tool(serial)
        tool.send(tool.measured.characteristics[0], bytes.fromhex(payload))

    async def _stream(self, serial: str, count: str, ms: str) -> None:
        tool, pause = self._tool(serial), _number(ms)
        first = tool.measured.characteristics[0]
        payloads = [sig_payload(first, Decimal(number) / 100) for number in range(_number(count))]
        for number, payload in enumerate(payloads, start=1):
            tool.send(first, payload)
            if pause or not number % _BATCH:
                await tool.clock.pass_ms(pause)

    def _plug(self, word: str, name: str = "hci0") -> None:
        self._host.plug(False)
        if word != "off":
            self._host.plug(True, central=word != "deaf", name=name)

    def _spare(self, name: str) -> None:
        self._host.spare("" if name == "off" else name)

    def _fail(self, member: str, times: str, error: str, *text: str) -> None:
        self._host.faults.refuse(member, _number(times), RefusedError(error, " ".join(text)))

    def _hang(self, member: str, times: str) -> None:
        self._host.faults.hangs[member] += _number(times)

    def _repeat(self, times: str) -> None:
        self._host.faults.repeats = _number(times)

    def _leak(self, serial: str, times: str) -> None:
        self._device(serial).leaked = _number(times)

    def _delay(self, ms: str) -> None:
        for device in self._host.devices.values():
            device.delay.seconds = _number(ms) / 1000

    def _state(self) -> Answer:
        devices = self._by_serial.items()
        return {
            "connected": [serial for serial, each in devices if each.linked],
            "subscribed": {serial: len(each.tool.subscribed) for serial, each in devices},
            "sent": {serial: len(each.sent_ns) for serial, each in devices},
            "acquired": {serial: each.acquired for serial, each in devices},
            "scanning": self._host.scanning,
        }

    def _sent(self, serial: str) -> Answer:
        return {"sent_ns": self._device(serial).sent_ns}

    def _help(self) -> Answer:
        return {word: about for word, (about, _) in self._verbs.items()}


def _number(text: str) -> int:
    number = int(text)
    if number < 0:
        raise ValueError(f"{text} is below zero")
    return number


def _on(word: str) -> bool:
    return {"on": True, "off": False}[word]


async def serve(commands: Commands) -> None:
    """Obey the lines on stdin until they end; each is begun in its turn."""
    loop = asyncio.get_running_loop()
    lines = asyncio.StreamReader(LINE_LIMIT)
    await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(lines), sys.stdin)
    _tell({"ready": True})
    async with asyncio.TaskGroup() as group:
        number = 0
        while line := await lines.readline():
            number += 1
            group.create_task(_obey(commands, number, line.decode().strip()))


async def _obey(commands: Commands, number: int, line: str) -> None:
    try:
        _tell({"line": number, **(await commands.obey(line) if line else {})})
    except TalkError as error:
        _tell({"line": number, "error": str(error)})


def _tell(answer: Answer) -> None:
    sys.stdout.write(json.dumps(answer) + "\n")
    sys.stdout.flush()

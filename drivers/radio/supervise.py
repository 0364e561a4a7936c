"""When to try a tool again: pure decisions by table, and the one loop that obeys them.

A tool that sleeps is a state, not an error: patience is without limit, the rate of attempts is bounded, and every
attempt waits for an advertisement, so that a sleeping tool costs nothing.
"""

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from drivers.reading import Link


class End(StrEnum):
    """How one attempt to talk to a tool ended."""

    DROPPED = "dropped"
    """It was ready, then the link was lost: it fell asleep or went out of range."""
    BUSY = "busy"
    """The adapter was in use by somebody else."""
    TIMEOUT = "timeout"
    ABORTED = "aborted"
    """The radio link broke before the tool was ready."""
    REFUSED = "refused"
    """The tool asks for a pairing that does not exist."""
    NOT_UNDERSTOOD = "not understood"
    """Nothing that the tool offers is in a profile."""
    RADIO_OFF = "radio off"
    FULL = "full"
    """The adapter holds no more links."""
    RELEASED = "released"
    """We let it go, because another tool was wanted."""
    DOUBLED = "doubled"
    """We let it go, because every value came twice."""


@dataclass(frozen=True, slots=True)
class Timing:
    """How long things may take, in seconds."""

    connect_s: float = 12.0
    """A connection attempt; the system's own limit can be far longer."""
    close_s: float = 5.0
    """The end of a link, of an attempt at one, or of a scan; what is not answered until then is left to the system."""
    poll_s: float = 5.0
    """Between looks for an adapter that is not available."""
    quiet_s: float = 30.0
    """A scan that hears nothing at all for this long is started afresh."""
    asleep_s: float = 5.0
    """A tool not heard of for this long is said to be asleep."""
    idle_s: float = 60.0
    """A tool that sent nothing for this long gives way where there are more than can be linked."""
    silent_s: float = 15.0
    """A tool that gave way and is heard again after so long a silence was pressed; systems report some only rarely."""
    rest_s: float = 1.0
    """A stream without a value for this long rests: a pull is over."""


TIMING = Timing()
"""For real tools; tests have shorter ones."""


@dataclass(frozen=True, slots=True)
class Step:
    """What to do after an attempt: wait this long at least, and what to tell a person meanwhile."""

    wait_s: float
    link: Link
    message: str = ""


_ADVICE: dict[End, tuple[int, str]] = {
    End.DROPPED: (1, "The tool went away; press its button and it is picked up again by itself."),
    End.BUSY: (3, "Another program uses this Bluetooth adapter; close it, the tool is then found by itself."),
    End.TIMEOUT: (2, "The tool does not answer; bring it nearer and press its button."),
    End.ABORTED: (5, "The radio link keeps breaking; move the adapter away from Wi-Fi and USB 3 devices."),
    End.REFUSED: (1, "The tool asks to be paired; pair it in the system's Bluetooth settings."),
    End.NOT_UNDERSTOOD: (
        1,
        "The tool offers no value that a profile names; check its profile, or if it was updated: bluetoothctl remove.",
    ),
    End.RADIO_OFF: (1, "Bluetooth is off; switch it on, the tool is then found by itself."),
    End.FULL: (1, "The Bluetooth adapter holds no more tools; the one used least gives way, or switch one off."),
    End.RELEASED: (1, "It gave way to another tool, since no more can be linked; press its button to use it again."),
    End.DOUBLED: (1, "Every value came twice; the link is made afresh, go on when the tool is ready."),
}
"""After how many of the same in a row a person is told, and what."""

_FIXED_WAIT = {
    End.DROPPED: 0.0,
    End.RELEASED: 0.0,
    End.DOUBLED: 0.0,
    End.REFUSED: 60.0,
    End.NOT_UNDERSTOOD: 60.0,
    End.RADIO_OFF: 5.0,
}


def next_step(end: End, in_a_row: int) -> Step:
    """Decide what follows the `in_a_row`-th attempt (from 1) that ended this way.

    Transient ends back off from 0.25 s to 4 s; ends that need a person wait a minute; a drop waits for nothing but
    the tool's next advertisement.
    """
    wait = _FIXED_WAIT.get(end, min(4.0, 0.25 * 2.0 ** (min(in_a_row, 16) - 1)))
    told_from, message = _ADVICE[end]
    link = Link.LOST if end is End.DROPPED else Link.SEARCHING
    return Step(wait, link, message if in_a_row >= told_from else "")


@dataclass(frozen=True, slots=True)
class ScanStep:
    """What to do after a scan could not be begun: wait this long at most, and whether a person is told."""

    wait_s: float
    tell: bool


def next_scan(end: End, in_a_row: int, poll_s: float) -> ScanStep:
    """Decide what follows the `in_a_row`-th scan (from 1) that could not be begun.

    An adapter that somebody else uses is tried again soon, and a person is told when that goes on; anything else is
    told at once and looked at every `poll_s` seconds, or sooner where the system says that something has changed.
    """
    if end is not End.BUSY:
        return ScanStep(poll_s, tell=True)
    return ScanStep(min(4.0, 0.25 * 2.0 ** (min(in_a_row, 16) - 1)), tell=in_a_row >= _ADVICE[End.BUSY][0])


ASLEEP = "The tool is asleep; press its button."
QUIET = "Nothing at all is heard; if a tool is awake, restart the Bluetooth service or plug the adapter in again."
SERVICE_GONE = "The Bluetooth service has stopped; start it if it does not come back, the tools are then found again."
BUSY = "Another program uses this Bluetooth adapter; close it, the tools are then found by themselves."

RADIO_ADVICE: dict[str, str] = {
    "NO_BLUETOOTH": "No Bluetooth adapter is found; plug one in or start the Bluetooth service.",
    "NO_SERVICE": "The Bluetooth service does not run; start it, the tools are then found by themselves.",
    "NO_BLE_CENTRAL_ROLE": "This Bluetooth adapter cannot talk to low-energy tools; plug in another one.",
    "POWERED_OFF": "Bluetooth is switched off; switch it on.",
    "DENIED_BY_USER": "Bluetooth was denied to this program; allow it in the system's privacy settings.",
    "DENIED_BY_SYSTEM": "The system denies Bluetooth to this user; add them to the bluetooth group and log in again.",
    "DENIED_BY_UNKNOWN": "Bluetooth is denied to this program; check the system's Bluetooth permissions.",
    "UNKNOWN": "Bluetooth is not available; restart the Bluetooth service or plug the adapter in again.",
}
"""One sentence with one action for each reason why there is no radio; typed readings go on meanwhile."""


class Tool(Protocol):
    """What the loop needs of one tool."""

    awake: asyncio.Event
    """Set by any advertisement while there is no link."""

    async def session(self) -> End:
        """Connect, serve the link until it ends, and say how it ended; never raises for what a radio does."""
        ...

    async def tell(self, link: Link, message: str) -> None:
        """Report a state of the tool."""
        ...


async def keep_linked(
    tool: Tool,
    timing: Timing,
    jitter: Callable[[], float],
    pause: Callable[[float], Awaitable[None]] = asyncio.sleep,
) -> None:
    """Serve one tool for ever: wait until it is awake, talk to it, and decide by `next_step` what follows."""
    last: End | None = None
    in_a_row = 0
    while True:
        await _until_awake(tool, timing)
        end = await tool.session()
        in_a_row = in_a_row + 1 if end is last else 1
        last = end
        step = next_step(end, in_a_row)
        await tool.tell(step.link, step.message)
        if step.wait_s:
            await pause(step.wait_s * (0.5 + jitter() / 2))


async def _until_awake(tool: Tool, timing: Timing) -> None:
    try:
        async with asyncio.timeout(timing.asleep_s):
            await tool.awake.wait()
    except TimeoutError:
        await tool.tell(Link.ASLEEP, ASLEEP)
        await tool.awake.wait()

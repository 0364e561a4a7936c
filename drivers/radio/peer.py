"""One link to one tool as the lines know it: the port, and no radio library."""

from collections.abc import Callable
from typing import Literal, Protocol

from drivers.decode.bind import Offered

from .supervise import End


class LinkError(Exception):
    """A link could not be made or has broken; `end` says what kind of end it is."""

    def __init__(self, end: End, why: str) -> None:
        super().__init__(why)
        self.end = end


Heard = Callable[[int, str, bytes], None]
"""Called with the handle, the UUID and the octets of each notification."""


class Peer(Protocol):
    """One link to one tool, whatever the radio; what a radio does wrong is raised as LinkError only."""

    async def connect(self) -> None:
        """Make the link and find what the tool offers."""
        ...

    def offers(self) -> tuple[Offered, ...]:
        """Return the characteristics that notify, without their descriptors."""
        ...

    async def subscribe(self, handle: int, mode: Literal["start", "acquire"], heard: Heard) -> None:
        """Ask for the notifications of a characteristic; they may arrive before this returns."""
        ...

    async def unsubscribe(self, handle: int) -> None:
        """Ask for no more notifications of a characteristic."""
        ...

    async def describe(self, offered: Offered) -> Offered:
        """Read the descriptors of a characteristic."""
        ...

    async def read(self, service: str, uuid: str) -> bytes:
        """Read a value that a tool may have; empty when it has none."""
        ...

    async def close(self) -> None:
        """End the link, however far it got; never raises."""
        ...


MakePeer = Callable[[Callable[[], None]], Peer]
"""Makes a peer for the newest advertisement of a tool; its argument is called when the link ends, by whomever."""

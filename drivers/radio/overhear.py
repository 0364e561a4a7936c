"""Everything that one tool notifies, undecoded: for learning how a tool speaks that no profile knows."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Literal

from drivers.decode.bind import HOUSEKEEPING
from drivers.decode.decode import Frame
from drivers.reading import Clock

from .inbox import FRAMES_HELD, Inbox
from .peer import LinkError, MakePeer, Peer
from .supervise import TIMING, End, Timing


@asynccontextmanager
async def overhearing(
    make_peer: MakePeer,
    clock: Clock,
    *,
    mode: Literal["start", "acquire"] = "start",
    timing: Timing = TIMING,
) -> AsyncIterator[Inbox[Frame]]:
    """Link to a tool and give its frames until the link ends; LinkError when there is none to be had.

    Leaving it ends the link, whatever happened inside.
    """
    frames: Inbox[Frame] = Inbox(FRAMES_HELD)
    linked = False

    def gone() -> None:
        if linked:  # a library that tries again by itself reports the end of what it tried before
            frames.close()

    def heard(handle: int, uuid: str, octets: bytes) -> None:
        frames.put(Frame(handle, uuid, octets, 1, clock.now()))

    peer = make_peer(gone)
    try:
        try:
            async with asyncio.timeout(timing.connect_s):
                await peer.connect()
                linked = True
                for handle in _measured(peer):
                    await peer.subscribe(handle, mode, heard)
        except TimeoutError:
            raise LinkError(End.TIMEOUT, "the tool does not answer") from None
        yield frames
    finally:
        await peer.close()


def _measured(peer: Peer) -> list[int]:
    """Return the handles of whatever notifies and may be measured; LinkError when nothing does."""
    handles = [offered.handle for offered in peer.offers() if offered.service not in HOUSEKEEPING]
    if not handles:
        raise LinkError(End.NOT_UNDERSTOOD, "the tool notifies nothing")
    return handles

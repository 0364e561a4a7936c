"""The port to a broker: what both ends of the wire need of one, and how long to wait before trying again."""

from collections.abc import AsyncIterator, Sequence
from contextlib import AbstractAsyncContextManager
from dataclasses import dataclass
from typing import Protocol

FIRST_WAIT_S = 1.0
LONGEST_WAIT_S = 60.0


@dataclass(frozen=True, slots=True)
class Message:
    """One message as it came from, or goes to, the broker."""

    topic: str
    payload: bytes
    retain: bool = False


class Line(Protocol):
    """One connection; each call raises NothingToTalkTo once it is gone."""

    async def publish(self, message: Message) -> None:
        """Hand a message to the broker at least once (QoS 1), and wait until the broker has it."""
        ...

    async def subscribe(self, topics: Sequence[str]) -> None:
        """Ask for all messages of these topics."""
        ...

    def messages(self) -> AsyncIterator[Message]:
        """Yield what arrives, in order, until the connection is gone."""
        ...

    def waiting(self) -> int:
        """Return how many messages have arrived and were not yielded yet."""
        ...


class Broker(Protocol):
    """Makes connections; each attempt is a new one."""

    def connect(self, will: Message) -> AbstractAsyncContextManager[Line]:
        """Connect with a last will; NothingToTalkTo when there is no broker or it refuses."""
        ...


def wait_before(attempt: int, share: float) -> float:
    """Return the seconds to wait before attempt number `attempt` (from 1); `share` in [0, 1) is drawn at random.

    Doubles from 1 s to 60 s; half of it is fixed and half is drawn, so that benches that lost one broker together do
    not come back together ("equal jitter", M. Brooker, Exponential Backoff and Jitter, 2015).
    """
    whole = min(LONGEST_WAIT_S, FIRST_WAIT_S * 2.0 ** min(attempt - 1, 10))
    return whole * (1 + share) / 2

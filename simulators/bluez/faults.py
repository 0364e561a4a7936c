"""How the stand-in for BlueZ misbehaves: what it was told to do wrong, and how often still."""

import asyncio
from collections import Counter, deque
from collections.abc import Callable
from dataclasses import dataclass, field

from .table import RefusedError

Emit = Callable[[], None]


@dataclass(slots=True)
class Faults:
    """What is to go wrong next; nothing by itself."""

    refusals: dict[str, deque[RefusedError]] = field(default_factory=dict)
    """By method name: the answers to its next calls."""
    hangs: Counter[str] = field(default_factory=Counter)
    """By method name: how many calls more get no answer at all."""
    deaf_scans: int = 0
    """How many scans more are begun with success and hear nothing."""
    repeats: int = 0
    """How often each notification goes out again."""

    def refuse(self, member: str, times: int, error: RefusedError) -> None:
        """Answer the next calls of a method with an error."""
        self.refusals.setdefault(member, deque()).extend([error] * times)

    def meet(self, member: str) -> bool:
        """Raise what the next call of a method gets; return whether it gets no answer at all."""
        if waiting := self.refusals.get(member):
            raise waiting.popleft()
        if self.hangs[member]:
            self.hangs[member] -= 1
            return True
        return False


class Delay:
    """Holds what is to go out for some time; order is kept, whatever the delay was when each came in."""

    def __init__(self) -> None:
        self.seconds = 0.0
        self._held: deque[Emit] = deque()

    def put(self, emit: Emit) -> None:
        """Let something go out, at once or later."""
        if not self.seconds and not self._held:
            emit()
            return
        self._held.append(emit)
        asyncio.get_running_loop().call_later(self.seconds, self._release)

    def _release(self) -> None:
        if self._held:
            self._held.popleft()()

    def flush(self) -> None:
        """Let all that is held go out now."""
        while self._held:
            self._held.popleft()()

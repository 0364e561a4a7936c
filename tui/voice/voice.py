"""The voice: what is to be said of each moment is spoken; where nothing can speak, the bell rings a rhythm.

Nothing here is waited for: the bench only leaves its moments in a queue.
"""

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable
from decimal import Decimal

from drivers.reading import TorqueSample
from logger.bench.moment import Moment
from logger.job.prompt import Prompt
from logger.pulls.pulls import PullState
from tui.glance.pulling import pulling
from tui.services import Service, Workplace

from .bells import Sound, sound_of
from .engine import Engine, Mute
from .newest import Newest
from .spoken import Phrase, pulling_said, spoken

Ring = Callable[[], object]
Pause = Callable[[float], Awaitable[object]]

INSTEAD = (
    "No voice: {why}. The bell rings instead: once inside, twice outside, thrice a warning, thrice slowly a lost tool."
)


class Voice:
    """Hears a bench and says what is to be said; without an engine it rings."""

    def __init__(
        self, engine: Engine | None, ring: Ring, *, rings_itself: bool = False, pause: Pause = asyncio.sleep
    ) -> None:
        self._engine = engine
        self._ring, self._rings_itself, self._pause = ring, rings_itself, pause
        self._asked: Prompt | None = None
        self._heard: deque[Moment] = deque()
        self._came = asyncio.Event()
        self._news: Newest[Phrase | Sound] = Newest(self._tell)
        self._held = self._warned = ""

    def hear(self, moment: Moment) -> None:
        """Take a moment of the bench; what is made of it is made later."""
        self._heard.append(moment)
        self._came.set()

    def pulled(self, moment: Moment, state: PullState) -> None:
        """Take how a pull in progress stands, and warn once of each thing there is to warn of."""
        live = state.live
        if live.held is None or live.text is None:
            self._held = self._warned = ""
            return
        if live.held == self._held:
            return
        self._held = live.held
        seen = pulling(moment, Decimal(live.text), live.unit, Decimal(live.held))
        if seen.warns and seen.word != self._warned:
            self._warned = seen.word
            self._news.put((Sound.WARNING if self._engine is None else pulling_said(seen),))

    async def run(self) -> None:
        """Say what there is to say until cancelled; Mute when the engine cannot be heard, and then it rings."""
        mute: Mute | None = None
        try:
            async with asyncio.TaskGroup() as group:
                group.create_task(self._attend())
                group.create_task(self._news.run())
        except* Mute as found:
            mute = _first(found)
        if mute is not None:
            self._engine, self._news = None, Newest(self._tell)
            raise mute

    async def _attend(self) -> None:
        while True:
            await self._came.wait()
            self._came.clear()
            while self._heard:
                self._news.put(self._made(self._heard.popleft()))

    def _made(self, moment: Moment) -> tuple[Phrase | Sound, ...]:
        if self._engine is None:
            sound = sound_of(moment)
            return () if sound is None else (sound,)
        said = spoken(moment, self._asked)
        self._asked = moment.prompt
        return said

    async def _tell(self, news: Phrase | Sound) -> None:
        if isinstance(news, Sound):
            await self._rings(news)
        elif self._engine is not None:
            await self._engine.speak(news.text)

    async def _rings(self, sound: Sound) -> None:
        if not (sound.urgent and self._rings_itself):
            self._ring()
        for seconds in sound.waits:
            await self._pause(seconds)
            self._ring()


def _first(group: BaseExceptionGroup[Mute]) -> Mute:
    for fault in group.exceptions:
        return _first(fault) if isinstance(fault, BaseExceptionGroup) else fault
    raise AssertionError("a group is never empty")


def voice_service(find: Callable[[], Engine], ring: Ring = lambda: None) -> Service:
    """Return the service that speaks beside a session; `ring` rings the bell where the workplace has none of its own.

    A workplace that has one (the screen) rings it by itself at each alarm: that is the first ring of a pattern.
    """

    async def voice(workplace: Workplace) -> None:
        own: Ring | None = getattr(workplace, "bell", None)
        try:
            engine: Engine | None = find()
        except Mute as mute:
            engine = None
            workplace.warn(INSTEAD.format(why=mute))
        mouth = Voice(engine, own or ring, rings_itself=own is not None)

        def pulled(_: TorqueSample, state: PullState) -> None:
            mouth.pulled(workplace.bench.moment, state)

        workplace.bench.listeners.append(mouth.hear)
        workplace.bench.live_listeners.append(pulled)
        mouth.hear(workplace.bench.moment)
        try:
            await _run(mouth, workplace)
        finally:
            workplace.bench.listeners.remove(mouth.hear)
            workplace.bench.live_listeners.remove(pulled)

    return voice


async def _run(mouth: Voice, workplace: Workplace) -> None:
    try:
        await mouth.run()
    except Mute as mute:
        workplace.warn(INSTEAD.format(why=mute))
    await mouth.run()

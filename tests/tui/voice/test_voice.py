"""The voice beside a session: speaks what is to be said, cuts for a warning, rings where nothing can speak."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from drivers.reading import Link
from logger.bench.bench import Bench
from tests.tui.hand import CALIPER, TOO_SLACK, Hand, at
from tests.tui.stage import on_stage
from tui.services import Workplace, supervise
from tui.voice.engine import Engine, Mute
from tui.voice.voice import voice_service

PAST = "past the aim: to the slot, max one hundred and six newton metres"


class Scribe:
    """An engine that writes down what it is to say; it never comes to the end of a sentence that holds a word."""

    def __init__(self, holds: str = "nothing is held", mute: str = "") -> None:
        self.told: list[str] = []
        self.cut: list[str] = []
        self.holds, self.mute = holds, mute

    async def speak(self, text: str) -> None:
        """Write it down."""
        if self.mute:
            raise Mute(self.mute)
        self.told.append(text)
        if self.holds in text:
            try:
                await asyncio.Event().wait()
            except asyncio.CancelledError:
                self.cut.append(text)
                raise


class Guest:
    """A workplace without a screen."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.warned: list[str] = []
        self.rung = 0

    def warn(self, text: str) -> None:
        """Note a banner."""
        self.warned.append(text)

    def ring(self) -> None:
        """Count a ring."""
        self.rung += 1


def _nothing_to_find(why: str) -> Callable[[], Engine]:
    def find() -> Engine:
        raise Mute(why)

    return find


@asynccontextmanager
async def speaking(workplace: Workplace, find: Callable[[], Engine], ring: Callable[[], object]) -> AsyncIterator[None]:
    """Run the voice beside a workplace, and end it after."""
    async with asyncio.TaskGroup() as group:
        run = group.create_task(supervise(workplace, (voice_service(find, ring),), ()))
        yield
        run.cancel()


async def until(true: Callable[[], bool]) -> None:
    """Let others go on until something is so."""
    async with asyncio.timeout(20):
        while not true():  # noqa: ASYNC110  (no event tells of it)
            await asyncio.sleep(0)


async def test_prompt_value_and_verdict_are_said_in_order(hand: Hand) -> None:
    await hand.until(at("slack", "tightest"))
    guest, scribe = Guest(hand.bench), Scribe()
    async with speaking(guest, lambda: scribe, guest.ring):
        await until(lambda: bool(scribe.told))
        await hand.reads("300.0")
        await until(lambda: "tightest: taut up." in scribe.told)
        await hand.reads("345.0")
        await until(lambda: "opposite: taut down." in scribe.told)
    assert scribe.told[-4:] == [
        "three hundred millimetres",
        "tightest: taut up.",
        "high: forty-five millimetres",
        "opposite: taut down.",
    ]
    assert (guest.warned, guest.rung) == ([], 0)
    assert hand.bench.listeners == []
    assert hand.bench.live_listeners == []


async def test_a_warning_cuts_what_is_being_said(hand: Hand) -> None:
    await hand.until(at("slack", "tightest", "taut up"))
    guest, scribe = Guest(hand.bench), Scribe(holds="Chain slack")
    async with speaking(guest, lambda: scribe, guest.ring):
        await until(lambda: bool(scribe.told))
        await hand.reads("345.0")
        await until(lambda: "high: forty-five millimetres" in scribe.told)
    assert [text[:11] for text in scribe.cut] == ["Chain slack"]


async def test_a_pull_past_its_aim_is_warned_of_once(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
    guest, scribe = Guest(hand.bench), Scribe()
    async with speaking(guest, lambda: scribe, guest.ring):
        await until(lambda: bool(scribe.told))
        for text in ("0", "40", "95", "99", "100", "101"):
            await hand.samples(text)
            hand.clock.ms += 50
        await until(lambda: PAST in scribe.told)
    assert scribe.told.count(PAST) == 1


async def test_at_the_end_what_is_being_said_is_cut(hand: Hand) -> None:
    guest, scribe = Guest(hand.bench), Scribe(holds="Chain")
    async with speaking(guest, lambda: scribe, guest.ring):
        await until(lambda: bool(scribe.told))
    assert scribe.cut == ["Chain and rear axle"]


async def test_without_an_engine_the_bell_rings_its_rhythm(hand: Hand) -> None:
    await hand.until(at("slack", "tightest", "taut up"))
    guest = Guest(hand.bench)
    async with speaking(guest, _nothing_to_find("espeak-ng is not installed"), guest.ring):
        await until(lambda: bool(guest.warned))
        await hand.reads("332.0")
        await until(lambda: guest.rung == 1)
        await hand.links(CALIPER, "caliper", Link.LOST)
        await until(lambda: guest.rung == 2)
    (notice,) = guest.warned
    assert notice.startswith("No voice: espeak-ng is not installed. The bell rings instead")
    assert len(notice.splitlines()) == 1


async def test_an_engine_that_cannot_be_heard_gives_way_to_the_bell(hand: Hand) -> None:
    await hand.until(at("slack", "tightest", "taut up"))
    guest = Guest(hand.bench)
    async with speaking(guest, lambda: Scribe(mute="no sound device"), guest.ring):
        await until(lambda: bool(guest.warned))
        await hand.reads("332.0")
        await until(lambda: guest.rung == 1)
    assert [text[:26] for text in guest.warned] == ["No voice: no sound device."]


async def test_it_speaks_beside_the_screen_and_ends_with_it(hand: Hand) -> None:
    await hand.until(at("slack", "tightest", "taut up"))
    scribe = Scribe(holds="opposite")
    async with on_stage(hand, services=(voice_service(lambda: scribe),)) as pilot:
        await until(lambda: bool(scribe.told))
        await hand.reads("345.0")
        await until(lambda: any("opposite" in text for text in scribe.told))
        await pilot.pause()
    await until(lambda: any("opposite" in text for text in scribe.cut))

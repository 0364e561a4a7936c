"""The app on a stage without a terminal: keys in, the screen as text out."""

from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from typing import Any

from textual.pilot import Pilot

from tui.apps.app import EvenhandApp, Waits
from tui.apps.reins import DemoControl
from tui.entry.keymap import Keymap
from tui.entry.pedal import Pedal
from tui.entry.person import Person
from tui.services import Service

from .hand import Hand

Size = tuple[int, int]
USUAL: Size = (80, 24)


@asynccontextmanager
async def on_stage(
    hand: Hand,
    size: Size = USUAL,
    services: Sequence[Service] = (),
    demo: DemoControl | None = None,
    *,
    keymap: Keymap | None = None,
    pedal: Pedal | None = None,
) -> AsyncIterator[Pilot[int]]:
    """Run the app on the bench of a hand."""
    app = EvenhandApp(
        hand.bench,
        services,
        demo,
        clock=hand.clock,
        environment={},
        person=Person(keymap=keymap or Keymap(), pedal=pedal),
        waits=Waits(back_off=(), drain_s=0.001, read_ns=0),
    )
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        yield pilot


def seen(pilot: Pilot[Any]) -> str:
    """Return what the screen shows, as text."""
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join("".join(part.text for part in strip).rstrip() for strip in strips)


async def types(pilot: Pilot[int], text: str) -> None:
    """Type as a keyboard tool does; CR is the Enter key."""
    names = {"\r": "enter", "\n": "ctrl+j", "\t": "tab", " ": "space", ".": "full_stop", "·": "middle_dot"}
    await pilot.press(*(names.get(character, character) for character in text))
    await pilot.pause()

"""The app of a replay: time goes by, keys move it, and a reviewer's comment goes to the trail."""

import time
from collections.abc import Awaitable, Callable, Mapping, Sequence
from typing import cast

from textual import events

from drivers.clock import SystemClock
from drivers.reading import Clock
from logger import events as ev
from logger.bench.comment import commented
from logger.bench.replay import opening
from logger.errors import EvenhandError
from logger.job.words import headline
from tui.entry.actions import LEAVING
from tui.entry.keymap import Keymap
from tui.entry.keys import ENDS
from tui.replay.haste import OPENED_NS, Haste
from tui.replay.replaying import Mark, Player, frames, gone, jumped, sped, stepped, ticked, toggled
from tui.safe import safe_text
from tui.screens.commenting import CommentDialog
from tui.screens.dialog import CANCEL
from tui.screens.replay import ReplayScreen

from .ourapp import InSight, OurApp

TICK_S = 0.05
"""Between two looks at the clock; nothing is painted unless another event came in sight."""
Append = Callable[[ev.Commented], Awaitable[ev.Record]]
"""Puts a comment on the trail and returns it as stored."""


class ReplayApp(OurApp[int]):
    """Shows one stored job; `append` puts comments on its trail, `refusal` says why there are to be none."""

    CSS_PATH = "evenhand.tcss"
    CSS = """
    #timeline { height: 2; padding: 0 1; }
    #panel { height: 1fr; }
    #second { height: 1fr; display: none; margin: 1 0 0 0; }
    ReplayScreen #head { max-height: 4; }
    ReplayScreen #how { max-height: 3; }
    ReplayScreen.-tall #panel { height: 5fr; }
    ReplayScreen.-tall #second { display: block; height: 4fr; }
    ReplayScreen.-tall #head { max-height: 7; }
    ReplayScreen.-tall #how { max-height: 8; padding: 0 1; }
    ReplayScreen.-low #head { max-height: 1; }
    ReplayScreen.-low #how { display: none; }
    ReplayScreen.-narrow #lists { display: none; }
    ReplayScreen.-narrow.-pinned #lists { display: block; height: 1fr; max-height: 100%; }
    ReplayScreen.-narrow.-pinned #sight { display: none; }
    """

    def __init__(
        self,
        records: Sequence[ev.Record],
        append: Append,
        *,
        environment: Mapping[str, str] | None = None,
        keymap: Keymap | None = None,
        clock: Clock | None = None,
        opened_ns: int = OPENED_NS,
    ) -> None:
        super().__init__(environment, keymap)
        self._haste = Haste(clock or SystemClock(), opened_ns)
        self._records = tuple(records)
        self.frames = frames(records)
        self.player = Player()
        self._append = append
        self._offset = opening(records[0]).offset
        self._work = ReplayScreen()
        self._last_ns = time.monotonic_ns()

    async def on_mount(self) -> None:
        """Show the first event, paused."""
        await self.push_screen(self._work)
        self._draw()
        self.set_interval(TICK_S, self._tick)

    async def on_event(self, event: events.Event) -> None:
        """Let no key past that no hand pressed; leave by the same key as everywhere; a paste does nothing."""
        if isinstance(event, events.Paste) and not event.is_forwarded:
            self._tell("Pasting is not taken: type it.")
        elif not (isinstance(event, events.Key) and not event.is_forwarded and self._taken(event)):
            await super().on_event(event)

    def _taken(self, event: events.Key) -> bool:
        """Whether a key ends here; one that was given a meaning goes on as the function key it stands for."""
        key = self.meant(event)
        if key in LEAVING:
            self.exit(0)
            return True
        return key == "ctrl+z" or (isinstance(self.screen, CommentDialog) and self._hasty(event))

    def _hasty(self, event: events.Key) -> bool:
        """Whether a key in a dialog goes no further: it ran into it, or it ends a line."""
        if event.key != CANCEL.key and self._haste.ran_in():
            self._tell("The keys came before this was in sight: they were left out.")
            return True
        if event.key in ENDS:
            self._untype(self._haste.ended())
            return True
        if event.is_printable and event.character:
            self._haste.typed(event.character)
        elif event.key == "backspace":
            self._haste.erased()
        else:
            self._haste.answered()
        return False

    def _untype(self, text: str) -> None:
        """Take what a tool typed out of the field that has it."""
        if not text:
            self._tell("Enter and Tab do nothing here: answer with a function key.")
            return
        cast(InSight, self.screen).untype(text)
        self._tell("A tool typed this, not a hand: it was left out.")

    def _tell(self, text: str) -> None:
        cast(InSight, self.screen).tell(safe_text(text))

    # --- time and keys ----------------------------------------------------------------------------------------------

    def _tick(self) -> None:
        now = time.monotonic_ns()
        passed, self._last_ns = (now - self._last_ns) // 1_000_000, now
        self.move(ticked(self.player, self.frames, passed))

    def move(self, player: Player) -> None:
        """Go where a player stands, and draw what changed."""
        before, self.player = self.player, player
        if (player.at, player.playing, player.speed) != (before.at, before.playing, before.speed):
            self._draw()

    def _draw(self) -> None:
        self._work.show(self.frames, self.player, self._offset)

    def action_play(self) -> None:
        """Play, or pause."""
        self._last_ns = time.monotonic_ns()
        self.move(toggled(self.player, self.frames))

    def action_step(self, by: int) -> None:
        """One event on, or back."""
        self.move(stepped(self.player, self.frames, by))

    def action_go(self, at: int) -> None:
        """To the first event, or the last."""
        self.move(gone(self.player, self.frames, at if at >= 0 else len(self.frames) - 1))

    def action_speed(self, by: int) -> None:
        """Faster, or slower."""
        self.move(sped(self.player, by))

    def action_jump(self, mark: str, back: bool = False) -> None:
        """To the next of a kind, or the one before; after the last it begins again."""
        found = jumped(self.player, self.frames, Mark[mark], back=back)
        if found is None:
            self._work.tell(f"There is no {mark.lower()} in this job.")
        else:
            self.move(found)

    def action_view(self) -> None:
        """Another view beside the screen."""
        self._work.pin()
        self._draw()

    # --- comments ---------------------------------------------------------------------------------------------------

    def action_comment(self) -> None:
        """Ask for a comment on the event in sight."""
        moment = self.frames[self.player.at].moment
        self._ask(moment.record.seq, f"On number {moment.record.seq}: {headline(moment.job, moment.prompt)}")

    def action_sign(self) -> None:
        """Ask for the sign-off of the whole job."""
        self._ask(self._records[-1].seq, f"The whole job, to number {self._records[-1].seq}", signs=True)

    def _ask(self, at: int, on: str, *, signs: bool = False) -> None:
        self.move(gone(self.player, self.frames, self.player.at))

        async def keep(name: str, text: str) -> str:
            return await self._keep(at, name, text, signs=signs)

        self.push_screen(CommentDialog(on, keep, signs=signs))
        self._haste.opened()

    async def _keep(self, at: int, name: str, text: str, *, signs: bool) -> str:
        try:
            stored = await self._append(commented(self._records, at, name, text, signs=signs))
        except EvenhandError as refusal:
            return str(refusal)
        self._records = (*self._records, stored)
        self.frames = frames(self._records)
        self._draw()
        self._work.tell(safe_text(f"{'Signed off' if signs else 'Commented'}: number {stored.seq} on the trail."))
        return ""

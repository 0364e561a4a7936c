"""The screen of one job: moments of the bench in, what a person says out; it owns no rule.

Every key goes through one door before any screen sees it (`on_event`): what a tool can type is cut into lines there,
and leaving is asked for there, whatever dialog is open.
"""

import asyncio
import logging
from collections.abc import Awaitable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar, cast

from textual import events
from textual.binding import BindingType
from textual.message import Message

from drivers.clock import SystemClock
from drivers.reading import Clock
from drivers.typed import TYPED
from logger import events as ev
from logger.bench.bench import Bench
from logger.bench.moment import Moment
from logger.errors import EvenhandError, NotStored
from logger.sheets.sheet import NoteStep
from tui.entry.actions import LEAVE, LEAVING
from tui.entry.door import Door
from tui.entry.patience import READ_NS, Patience
from tui.entry.person import Person
from tui.exits import Exit, code_of
from tui.glance.alarms import alarming, banner
from tui.glance.glance import Slot, follow, last_counted, typed_with
from tui.host.lagwatch import watch_the_loop
from tui.lines import told
from tui.safe import safe_text
from tui.screens.asking import IN_WORDS, OverrideDialog, ReasonDialog, WordsDialog
from tui.screens.closed import ClosedScreen
from tui.screens.dialog import Dialog
from tui.screens.job import JobScreen
from tui.screens.showing import RefusedDialog, TurnedDialog
from tui.services import BACK_OFF_S, Service, supervise

from .eyes import Eyes
from .livepull import LivePull
from .ourapp import InSight, OurApp
from .reins import DemoControl, Reins

_log = logging.getLogger(__name__)

TICK_S = 0.25
_LOOSE = ("loosen", "slacken", "untouched")
F4_NOTES_IT = "F4 writes down what the prompt asks for."
DRAIN_S = 0.3
"""Keys still coming while leaving are thrown away for this long, so that no shell gets a reading as a command."""


@dataclass(frozen=True, slots=True)
class Waits:
    """How long the app waits for what; a test has no time for it."""

    back_off: Sequence[float] = BACK_OFF_S
    """Seconds before each new attempt of a service that failed."""
    drain_s: float = DRAIN_S
    read_ns: int = READ_NS
    """For how long a prompt has to be in sight before a key answers it."""


WAITS = Waits()
NOBODY_ELSE = Person()
"""Than who opened the job, with no keys of their own."""


class Shown(Message):
    """A moment of the bench, on its way to the screen."""

    def __init__(self, moment: Moment) -> None:
        super().__init__()
        self.moment = moment


class EvenhandApp(OurApp[int]):
    """Shows one open bench and runs `services` beside it; its result is the exit code.

    0 when the job was closed, 3 when it was left open, 74 when an event did not reach the disk. A service that fails
    becomes a banner and is tried again. Signals are for whoever runs the app: cancelling its task ends it in order.
    """

    CSS_PATH = "evenhand.tcss"
    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(
        self,
        bench: Bench,
        services: Sequence[Service] = (),
        demo: DemoControl | None = None,
        *,
        person: Person = NOBODY_ELSE,
        clock: Clock | None = None,
        environment: Mapping[str, str] | None = None,
        waits: Waits = WAITS,
    ) -> None:
        super().__init__(environment, person.keymap)
        self.bench = bench
        self._services = (*services, watch_the_loop)
        self._reins = Reins(demo)
        self._clock: Clock = clock or SystemClock()
        self._person, self._waits = person, waits
        self._door = Door(bench, self._clock, self)
        self._slot: Slot | None = None
        self._leaving = False
        self._patience = Patience(self._clock, waits.read_ns)
        self._fault = Exit.DONE
        self._work = JobScreen()
        self._eyes = Eyes(self, bench, self._work, self._patience)
        self.pull = LivePull(self, bench, self._work)

    # --- beginning and ending ---------------------------------------------------------------------------------------

    async def on_mount(self) -> None:
        """Show the job as it stands, listen to the bench, and start what runs beside it."""
        await self.push_screen(self._work)
        self.bench.listeners.append(self._listen)
        self.bench.live_listeners.append(self.pull.taken)
        asyncio.get_running_loop().set_exception_handler(self._astray)
        self._draw(self.bench.moment)
        self.set_interval(TICK_S, self._door.tick)
        self.run_worker(supervise(self, self._services, self._waits.back_off), name="services", exit_on_error=False)

    def on_unmount(self) -> None:
        """Listen no longer."""
        self.bench.listeners.remove(self._listen)
        self.bench.live_listeners.remove(self.pull.taken)
        asyncio.get_running_loop().set_exception_handler(None)

    def _astray(self, _: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
        """Tell of an exception that nobody waited for."""
        fault = context.get("exception")
        _log.error("astray: %s", context.get("message"), exc_info=fault)
        self.warn(safe_text(f"Something went wrong beside the screen: {fault or context.get('message')}", 300))

    async def _ask_to_leave(self) -> None:
        """Leave at the second press, with the job open; the first says how to take it up again."""
        job = self.bench.moment.job
        if job.closed:
            self.exit_closed()
        elif self._patience.again("leave"):
            await self.attempt(self.bench.interrupted("left by the person"))
            self._end(Exit.LEFT_OPEN)
        else:
            self.tell(f"{LEAVE.key.upper()} again leaves job {job.id} open; take it up with: evenhand resume {job.id}")

    def exit_closed(self) -> None:
        """Leave the closed page."""
        self._end(Exit.DONE)

    def _end(self, code: Exit) -> None:
        if self._leaving:
            return
        self._leaving = True
        code = self._fault or code
        self.set_timer(self._waits.drain_s, lambda: self.exit(int(code), return_code=int(code)))

    # --- from the bench to the screen -------------------------------------------------------------------------------

    def _listen(self, moment: Moment) -> None:
        self.post_message(Shown(moment))

    async def on_shown(self, message: Shown) -> None:
        """Draw a moment, and go where it leads."""
        moment = message.moment
        event = moment.record.event
        self._slot = follow(self._slot, moment)
        self._draw(moment)
        self.warn(safe_text(banner(event), 300))
        if alarming(moment):
            self.bell()
        if isinstance(event, ev.CloseRefused) and self.screen is self._work:
            self.push_screen(RefusedDialog(moment.job, event, self.action_override))
        if isinstance(event, ev.JobClosed):
            await self._close()

    def _draw(self, moment: Moment) -> None:
        event = moment.record.event
        self._eyes.drawn = moment
        if isinstance(event, ev.PullTaken | ev.ReadingTaken):
            self.pull.over()
        pedal = self._person.pedal is not None and self._person.pedal.reads(self.bench.tools)
        self._work.show(moment, self._slot, self._reins.keys, self._reins.state, pedal=pedal)
        self._work.tools(self.bench.tools, typed_with(moment.job, moment.prompt))
        if isinstance(event, ev.FrameUndecoded) and event.tool == TYPED:
            self.tell(f"{told(moment)} {F4_NOTES_IT}" if moment.prompt.kind == "note" else told(moment))
        else:
            self._work.happened(told(moment), alarm=alarming(moment))
            if isinstance(self.screen, Dialog):
                self.screen.happened(told(moment))
        self.in_sight()

    def in_sight(self) -> None:
        """Note what can be read once it is painted."""
        self._eyes.open()

    async def _close(self) -> None:
        while len(self.screen_stack) > 1 and self.screen is not self._work:
            self.pop_screen()
        await self.push_screen(ClosedScreen(self.bench.moment, str(self.bench.path)))

    # --- what is told -----------------------------------------------------------------------------------------------

    def tell(self, text: str) -> None:
        """Show a refusal or a hint where the person looks now."""
        cast(InSight, self.screen).tell(safe_text(text, 400))

    def warn(self, text: str) -> None:
        """Show a banner: something is wrong beside the screen."""
        self._work.warn(text)

    def action_dismiss_banner(self) -> None:
        """Take the banner away, and what is half typed."""
        self._work.unwarn()
        self._door.drop()

    # --- keys -------------------------------------------------------------------------------------------------------

    async def on_event(self, event: events.Event) -> None:
        """Let no key past that a tool may have typed, but into a text field; no paste, and no other way to leave."""
        if isinstance(event, events.Paste) and not event.is_forwarded:
            self.tell("Pasting is not taken: use the tool, or type the reading.")
        elif isinstance(event, events.Key) and self._eyes.too_soon(event):
            event.stop()
            self.tell("Read it first, then press it.")
        elif isinstance(event, events.Key) and not event.is_forwarded and await self._taken(event):
            return
        else:
            await super().on_event(event)

    async def _taken(self, event: events.Key) -> bool:
        """Whether a key ends here; one that was given a meaning goes on as the function key it stands for."""
        key = self.meant(event)
        if self._leaving or key == "ctrl+z":
            return True
        if key in LEAVING:
            await self._ask_to_leave()
            return True
        return await self._door.key(key, event.character if event.is_printable else None)

    @property
    def takes_text(self) -> bool:
        """Whether a person may type text into a field now."""
        return bool(getattr(self.screen, "takes_text", False))

    def typing(self, text: str) -> None:
        """Show the line being typed."""
        self._work.typing(text)

    def untype(self, text: str) -> None:
        """Take a reading out of the field it was typed into."""
        cast(InSight, self.screen).untype(text)

    # --- what the person says ---------------------------------------------------------------------------------------

    async def attempt(self, deed: Awaitable[object]) -> str:
        """Do something at the bench; return why it was refused, or nothing."""
        try:
            await asyncio.shield(deed)
        except NotStored as fault:
            self._fault = code_of(fault)
            said = str(fault)  # the trail's own words begin so already, and name what was lost
            self.warn(safe_text(said if said.startswith("NOT STORED") else f"NOT STORED. {said}", 300))
            return str(fault)
        except EvenhandError as refusal:
            return str(refusal)
        return ""

    async def said(self, deed: Awaitable[object]) -> None:
        """Do something at the bench, and show why it was refused."""
        refusal = await self.attempt(deed)
        if refusal:
            self.bell()
            self.tell(refusal)

    async def action_confirm(self) -> None:
        """Confirm what the prompt asks, once it could be read; where it asks for something else, be told what."""
        asked = self.bench.moment.prompt.kind in ("confirm", "seat", *_LOOSE)
        if asked and self._eyes.unread():
            self.tell("Read it first, then confirm.")
        elif asked and self._work.read_on():
            self.in_sight()
            self.tell("There was more to read: read it to its end, then confirm.")
        else:
            await self.said(self.bench.confirm())

    async def action_pedal(self) -> None:
        """Take the value that a tool shows now, where its profile says that a pedal does so."""
        if self._eyes.unread() or self._patience.bounced("pedal"):
            self.tell("Read what is asked first, then take it.")
        elif self._person.pedal is not None and (refusal := await self._person.pedal.press()):
            self.tell(refusal)

    async def action_loosened(self) -> None:
        """Report what the prompt is about as loosened; where it asks for something else, only at a second press."""
        kind = self.bench.moment.prompt.kind
        if kind in _LOOSE and self._eyes.unread():
            self.tell("Read it first, then report it.")
        elif kind in _LOOSE or self._patience.again("loosened", READ_NS):
            await self.said(self.bench.loosened())
        elif kind == "torque":
            self.tell("A pull is asked for: F7 again reports this fastener loosened.")
        else:
            self.tell("Nothing asks for it now: F7 again reports everything loosened that holds the adjusters.")

    async def action_as_advised(self) -> None:
        """Report the adjusters turned as advised, once that could be read."""
        if self.bench.moment.prompt.kind == "turn" and self._eyes.unread():
            self.tell("Read it first, turn, then report it.")
        else:
            await self.said(self.bench.turned_as_advised())

    async def action_close_job(self) -> None:
        """Close the job, or be told what is open."""
        if self.bench.moment.prompt.kind == "close" and self._eyes.unread():
            self.tell("Read it first, then close.")
        else:
            await self.said(self.bench.close())

    def action_take_back(self) -> None:
        """Ask why the last reading is taken back."""
        moment = self.bench.moment
        if not moment.job.last_counted:
            self.tell("There is no reading to take back.")
            return
        self.push_screen(ReasonDialog(last_counted(moment.job), lambda why: self.attempt(self.bench.take_back(why))))

    def action_note(self) -> None:
        """Ask for a note, or for what the prompt wants written down."""
        moment = self.bench.moment
        asked = moment.prompt.kind == "note"
        step = moment.job.sheet.by_id[moment.prompt.step] if asked else None
        title = step.title if step is not None else "A note on this job"
        self.push_screen(
            WordsDialog(
                title,
                self._work.how if asked else (),
                lambda text: self.attempt(self.bench.note(text)),
                "The number" if isinstance(step, NoteStep) and step.value == "number" else IN_WORDS,
            )
        )

    def action_otherwise(self) -> None:
        """Ask how far the adjusters were turned."""
        plan = self.bench.moment.plan
        advice = plan.advice if plan is not None else None
        sides = (advice.left, advice.right) if advice is not None else (0, 0)
        left, right = (Decimal(side.numerator) / Decimal(side.denominator) for side in sides)
        self.push_screen(TurnedDialog((left, right), lambda a, b: self.attempt(self.bench.turned(a, b))))

    def action_override(self) -> None:
        """Ask which open check to let pass."""
        moment = self.bench.moment
        if all(judged.passes for judged in moment.verdicts.values()):
            self.tell("Nothing is open: there is nothing to override.")
            return
        self.push_screen(
            OverrideDialog(moment, self._person.by, lambda *said: self.attempt(self.bench.override(*said)))
        )

    # --- the demo ---------------------------------------------------------------------------------------------------

    def action_pause(self) -> None:
        """Pause the simulated mechanic, or let him go on."""
        if self._reins.pause():
            self._draw(self.bench.moment)

    def action_by_hand(self) -> None:
        """Send the simulated mechanic home."""
        if self._reins.take_over():
            self._draw(self.bench.moment)
            self.tell("The simulated mechanic has gone: type readings, such as 36.2 mm, and use the keys.")

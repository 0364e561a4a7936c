"""The line-by-line session: no screen, no cursor movement, no repaint; for a screen reader, a pipe, or a test.

What is typed is a reading ("36.2 mm") or a word ("done"); a reading never begins with a letter, a word always does.
"""

import asyncio
import re
from collections.abc import AsyncIterable, Awaitable, Callable, Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal

from drivers.reading import Clock, ToolReading, Undecoded
from drivers.typed import TYPED, TypedError
from logger import events as ev
from logger.bench.bench import Bench
from logger.bench.declare import KINDS, adapter_in
from logger.bench.moment import Moment
from logger.errors import BadInput
from tui.entry.pedal import NO_RADIO, Pedal
from tui.entry.typed_lines import MOST_BYTES

from . import lines
from .services import Service, supervise

MOST_SHOWN = 40
"""How much of a line that is not taken is repeated to the person, in characters."""

Out = Callable[[str], None]

_FLATS = re.compile(r"(?P<left>[+-]?[0-9]{1,3}(\.[0-9]{1,3})?)[ \t]+(?P<right>[+-]?[0-9]{1,3}(\.[0-9]{1,3})?)")
HELP: tuple[tuple[str, str], ...] = (
    ("36.2 mm", "a reading: number and unit"),
    ("done", "confirm what the prompt asks"),
    ("turned", "the adjusters were turned as advised"),
    ("turned 1 -1", "they were turned otherwise: left, right, in flats, + is tighter"),
    ("loosened", "what the prompt is about was loosened"),
    ("loosened NAME...", "these fasteners were loosened"),
    ("back WHY", "take the last reading back; it stays on the trail"),
    ("note TEXT", "write something down; note mileage 13120 corrects a number that was noted, by the id of its step"),
    ("with TOOL", f"what typed readings come from: {', '.join(KINDS)}, a tool of the toolbook, or off"),
    ("take, take TOOL", "what a tool shows now is the reading, where its profile says that a pedal takes it"),
    (
        "adapter [STEP] 400 mm 40 mm [45]",
        "an adapter, of one torque step where it is named: length of the wrench, of it, degrees; or adapter off",
    ),
    ("override CHECK NOTE", "let an open check pass as it is; status shows the names of the checks"),
    ("close", "close the job"),
    ("status", "every check with its verdict"),
    ("cautions", "the cautions of the sheet, and the kit to lay out"),
    ("read", "the cautions have been read; it is kept on the trail"),
    ("help", "these words; an empty line gives the prompt again"),
    ("quit", "leave the job open"),
)


class Plain:
    """One job at one bench, by lines."""

    def __init__(self, bench: Bench, clock: Clock, by: str, out: Out, pedal: Pedal | None = None) -> None:
        self.bench = bench
        self._clock = clock
        self._by = by
        self._out = out
        self._pedal = pedal
        self._last = bench.moment
        self._asked: Moment | None = None
        self._answering = False
        self._words: dict[str, Callable[[str], Awaitable[object]]] = {
            "done": lambda rest: _alone("done", rest, bench.confirm),
            "turned": self._turned,
            "loosened": lambda rest: bench.loosened(*rest.replace(",", " ").split()),
            "back": bench.take_back,
            "note": bench.note,
            "with": self._with,
            "take": self._pedal_pressed,
            "adapter": self._adapter,
            "override": self._override,
            "close": lambda rest: _alone("close", rest, bench.close),
            "status": self._status,
            "cautions": self._cautions,
            "read": lambda rest: _alone("read", rest, self._read_cautions),
            "help": self._help,
        }

    async def run(self, typed: AsyncIterable[str], services: Sequence[Service] = ()) -> None:
        """Converse until the job is closed, `quit` is typed or the lines end; services run beside it until then."""
        with self._listening():
            async with asyncio.TaskGroup() as group:
                beside = group.create_task(supervise(self, services))
                await self._converse(typed)
                beside.cancel()

    async def watch(self, work: Awaitable[object], services: Sequence[Service] = ()) -> None:
        """Tell of everything until somebody else's work on the job is done; services run beside it until then."""
        with self._listening():
            if not services:
                await work
                return
            async with asyncio.TaskGroup() as group:
                beside = group.create_task(supervise(self, services))
                await work
                beside.cancel()

    def warn(self, text: str) -> None:
        """Say that something beside the job is wrong."""
        self._out(f"Warning: {text}")

    @contextmanager
    def _listening(self) -> Iterator[None]:
        self._out(lines.told(self._last))
        if isinstance(self._last.record.event, ev.JobOpened):
            for line in lines.cautions(self._last):
                self._out(line)
        self._ask()
        self.bench.listeners.append(self._tell)
        try:
            yield
        finally:
            self.bench.listeners.remove(self._tell)

    async def _converse(self, typed: AsyncIterable[str]) -> None:
        async for line in typed:
            if line.lower() in ("quit", "exit"):
                return await self._leave("quit")
            await self._answer(line)
            if self.bench.moment.job.closed:
                return None
        return await self._leave("end of input")

    async def _leave(self, why: str) -> None:
        await asyncio.shield(self.bench.interrupted(why))
        self._out(lines.left(self.bench.moment))

    async def _answer(self, line: str) -> None:
        """Take one line and ask again; a refusal is said, and the prompt stands."""
        self._answering = True
        try:
            await asyncio.shield(self._take(line))
        except BadInput as error:
            self._out(f"Not taken: {error}")
        finally:
            self._answering = False
        self._ask()

    async def _take(self, line: str) -> None:
        if len(line) > MOST_BYTES:
            raise BadInput("The line is too long.", "Type one reading or one word; help lists them.")
        word, _, rest = line.partition(" ")
        if not line:
            self._asked = None  # so that the whole prompt is given again
            return
        if not word[0].isalpha():
            await self.bench.arrive(self._read(line))
        elif (verb := self._words.get(word.lower())) is not None:
            await verb(rest.strip())
        else:
            raise BadInput(f'"{word[:MOST_SHOWN]}" is not a word that is known here.', "Say help for those that are.")

    def _read(self, line: str) -> ToolReading | Undecoded:
        """Read a typed reading; what is none is kept too, with the reason, as a frame of a tool would be."""
        at = self._clock.now()
        try:
            return self.bench.read_line(line, at)
        except TypedError as error:
            return Undecoded(TYPED, "", line.encode().hex(), f'"{line[:MOST_SHOWN]}": {error}', at)

    # --- words that need more than the bench ------------------------------------------------------------------------

    async def _turned(self, rest: str) -> None:
        if not rest:
            await self.bench.turned_as_advised()
            return
        found = _FLATS.fullmatch(rest)
        if found is None:
            raise BadInput(
                f'"{rest[:MOST_SHOWN]}" is not two numbers of flats.', "Say: turned LEFT RIGHT, such as turned 1 -0.5."
            )
        await self.bench.turned(Decimal(found["left"]), Decimal(found["right"]))

    async def _with(self, rest: str) -> None:
        await self.bench.declare(rest)

    async def _pedal_pressed(self, rest: str) -> None:
        refusal = NO_RADIO if self._pedal is None else await self._pedal.press(rest)
        if refusal:
            raise BadInput(refusal)

    async def _adapter(self, rest: str) -> None:
        step, adapter = adapter_in(rest)
        await self.bench.adapter(step, adapter)

    async def _override(self, rest: str) -> None:
        check, _, note = rest.partition(" ")
        await self.bench.override(check, self._by, note)

    async def _status(self, _: str) -> None:
        for line in lines.status(self.bench.moment):
            self._out(line)

    async def _cautions(self, _: str) -> None:
        for line in lines.cautions(self.bench.moment):
            self._out(line)

    async def _read_cautions(self) -> None:
        await self.bench.cautions_read(self._by)

    async def _help(self, _: str) -> None:
        for words, meaning in HELP:
            self._out(f"  {words}: {meaning}")

    # --- what is said -----------------------------------------------------------------------------------------------

    def _tell(self, moment: Moment) -> None:
        """Say what happened and what it did to the verdicts; what a tool brought about is asked on from here."""
        before, self._last = self._last, moment
        for line in (lines.told(moment), *lines.refused(moment), *lines.verdicts(before.verdicts, moment)):
            if line:
                self._out(line)
        taken = isinstance(moment.record.event, ev.ReadingTaken | ev.PullTaken)
        if not self._answering and (taken or self._is_new(moment)):
            self._ask()

    def _is_new(self, moment: Moment) -> bool:
        before = self._asked
        return before is None or (moment.prompt, moment.plan) != (before.prompt, before.plan)

    def _ask(self) -> None:
        """Give the next prompt; of the step that was asked last, only what is new. An empty line gives it whole."""
        moment, before = self.bench.moment, self._asked
        known: lines.Lines = ()
        if before is not None and before.prompt.step == moment.prompt.step and before.prompt.kind == moment.prompt.kind:
            known = lines.prompt(before)
        self._asked = moment
        first, *more = lines.prompt(moment)
        for line in (first, *(each for each in more if each not in known)):
            self._out(line)


async def _alone(word: str, rest: str, deed: Callable[[], Awaitable[object]]) -> None:
    """Do a deed whose word takes nothing after it: "done, but the key is in" is no confirmation."""
    if rest:
        raise BadInput(f'"{word}" stands alone; "{rest[:MOST_SHOWN]}" after it was not understood.', f"Say: {word}")
    await deed()

"""The live session: tools and a person -> events on the trail -> the fold -> whoever listens.

Everything goes through one door (`_record`): the event is on the disk and chained before anyone is told of it.
"""

import asyncio
import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Self

from drivers.reading import Arrival, Clock, Stamp, ToolReading, ToolState
from logger import events as ev
from logger.errors import BadInput
from logger.job.facts import Job
from logger.job.happened import happened
from logger.job.job import apply
from logger.job.picked import tools_picked
from logger.job.zeroed import suspected
from logger.program import PROGRAM
from logger.sheets.file import Loaded
from logger.shelf.shelf import begin, job_as_left
from logger.trail.trail import Trail

from . import decide, declare
from .arrivals import MOST_SAID, Arrivals, Describe, LiveListener, kept_only
from .envelope import bytes_of, envelope, landed, store
from .moment import Moment, moment_of, shown
from .typedby import TypedBy, no_keyboard, read_line


@dataclass(frozen=True, slots=True)
class Opening:
    """Who does what on which machine."""

    sheet: Loaded
    machine: str
    by: str
    simulated: bool = False
    seed: int | None = None
    offset: str = "+00:00"
    side_offset: ev.SideOffset | None = None


Listener = Callable[[Moment], None]


class Bench:
    """One open job at one bench; what a person says raises BadInput where it cannot be, NotStored off the disk."""

    def __init__(self, trail: Trail, clock: Clock, job: Job, record: ev.Record) -> None:
        self._trail = trail
        self._clock = clock
        self._door = asyncio.Lock()
        self.listeners: list[Listener] = []
        self.typed_by: TypedBy = no_keyboard
        """Says how a tool that acts as a keyboard types."""
        self.moment = moment_of(job, record)
        self._halted = ""
        self._arrivals = Arrivals(clock, lambda: self.moment, self._store_event)

    @classmethod
    async def open(cls, trail: Trail, clock: Clock, opening: Opening) -> Self:
        """Begin a job; NotStored when its opening does not reach the disk."""
        text = opening.sheet.text
        event = ev.JobOpened(
            sheet=opening.sheet.sheet.id,
            revision=opening.sheet.sheet.revision,
            sheet_sha256=hashlib.sha256(text.encode()).hexdigest(),
            sheet_text=text,
            machine=opening.machine,
            by=opening.by,
            simulated=opening.simulated,
            seed=opening.seed,
            offset=opening.offset,
            program=PROGRAM,
            side_offset=opening.side_offset,
        )
        job_id = f"j{trail.head.seq + 1}"
        bare = envelope(clock, job_id, trail.head.seq + 1, event, ev.Shown())
        found = moment_of(begin(bare), bare)
        at_first = ev.Shown(
            verdicts={check: judged.verdict for check, judged in found.verdicts.items()}, prompt=found.prompt.key
        )
        record = await store(trail, envelope(clock, job_id, trail.head.seq + 1, event, at_first))
        return cls(trail, clock, begin(record), record)

    @classmethod
    async def resume(cls, trail: Trail, clock: Clock, job_id: str, by: str = "") -> Self:
        """Take up an open job where its trail ends; BadInput when it is closed or unknown."""
        job, last = job_as_left(trail.path, job_id)
        if job.closed:
            raise BadInput(f"Job {job_id} is closed.", "Look at it with: evenhand replay " + job_id)
        bench = cls(trail, clock, job, last)
        await bench._record(ev.JobResumed(by=by or job.by))
        return bench

    @property
    def path(self) -> Path:
        """The trail's file."""
        return self._trail.path

    @property
    def tools(self) -> Mapping[str, ToolState]:
        """The newest state of each tool in reach, and of the radio."""
        return self._arrivals.tools

    @property
    def live_listeners(self) -> list[LiveListener]:
        """Who is told of every sample of a pull."""
        return self._arrivals.live_listeners

    @property
    def describe(self) -> Describe:
        """Asked once for each tool and profile; its answer is on the trail before the first reading of the tool."""
        return self._arrivals.describe

    @describe.setter
    def describe(self, describe: Describe) -> None:
        self._arrivals.describe = describe

    # --- what arrives -----------------------------------------------------------------------------------------------

    async def arrive(self, arrival: Arrival) -> Moment:
        """Take one arrival from a driver; whatever may be a reading is recorded."""
        async with self._door:
            await self._arrivals.take(kept_only(arrival, self._halted) if self._halted else arrival)
            return self.moment

    def halt(self, why: str) -> None:
        """Stop the job until it is resumed: what arrives is kept without counting, what a person says is refused."""
        self._halted = self._halted or why

    def read_line(self, line: str, at: Stamp, key_gap_ms: int | None = None) -> ToolReading:
        """Read one typed line, by the tool that a person said it comes from; TypedError says why it is no reading."""
        return read_line(self.moment.job, self.typed_by, line, at, key_gap_ms, step=self.moment.prompt.step)

    async def settle_pulls(self) -> Moment:
        """End pulls that wait for a peak their tool will not send any more (it fell silent or went away)."""
        async with self._door:
            await self._arrivals.settle()
            return self.moment

    # --- what the person says ---------------------------------------------------------------------------------------

    async def confirm(self) -> Moment:
        """Confirm what the present prompt asks to confirm; BadInput when it asks for something else."""
        return await self._say(lambda m: decide.confirmed(m.job, m.prompt))

    async def cautions_read(self, by: str = "") -> Moment:
        """Put on the trail that a person has read the cautions of the sheet."""
        return await self._say(lambda m: decide.cautions_read(m.job, by))

    async def pick_tools(self, picks: Iterable[ev.Pick], by: str = "") -> Moment:
        """Put on the trail which tools are used where several would do; BadInput where no step takes one of them."""
        return await self._say(lambda m: tools_picked(m.job, by, picks))

    async def note(self, text: str) -> Moment:
        """Answer a note prompt, or leave a free note; BadInput where the prompt wants a number and this is none."""
        return await self._say(lambda m: decide.noted(m.prompt, m.job, text))

    async def loosened(self, *names: str) -> Moment:
        """Report fasteners loosened: those named, else the prompt's; BadInput where there are none such."""
        return await self._say(lambda m: decide.loosened(m.job, m.prompt, names))

    async def turned(self, left: Decimal, right: Decimal) -> Moment:
        """Report adjusters turned, in flats, positive tightens; BadInput for none, too many, or a sheet without."""
        return await self._say(lambda m: decide.turned(m.job, m.prompt, left, right, m.plan))

    async def turned_as_advised(self) -> Moment:
        """Report adjusters turned as the advice says; BadInput when nothing is advised now."""
        left, right = decide.as_advised(self.moment.job, self.moment.prompt, self.moment.plan)
        return await self.turned(left, right)

    async def take_back(self, why: str) -> Moment:
        """Withdraw the last counted reading or pull, which stays on the trail; BadInput without one or a reason."""
        return await self._say(lambda m: decide.taken_back(m.job, why))

    async def override(self, check: str, name: str, note: str) -> Moment:
        """Let one open check pass as it is; BadInput for one that is not open, and without a name or a note."""
        return await self._say(lambda m: decide.overridden(m.verdicts, check, name, note))

    async def declare(self, what: str) -> Moment:
        """Say which tool typed readings come from, by kind or name, "off" for none; BadInput where no step takes it."""
        async with self._door:
            kind = declare.kind_of(what)
            known = None if kind is not None else self.describe(what, "", "")
            event = declare.declared(self.moment.job, what, known, self.moment.prompt)
            if event.tool_kind:
                stated = known or self.describe(event.tool, event.tool_kind, "") or declare.ruled(event)
                await self._arrivals.state(stated)
            return await self._store_event(event)

    async def adapter(self, step: str, adapter: ev.Adapter | None) -> Moment:
        """Put an adapter on a torque step's wrench or take it off, "" for the one asked about; BadInput elsewhere."""
        return await self._say(lambda m: declare.adapter_declared(m.job, m.prompt, step, adapter))

    async def fault(self, what: str, said: str) -> Moment:
        """Put on the trail that something failed or came back, as the person was told; a closed job stays as it is."""
        if self.moment.job.closed:
            return self.moment
        return await self._record(ev.FaultTold(what=what[:MOST_SAID], said=said[:MOST_SAID]))

    async def close(self) -> Moment:
        """Close the job, or record the refusal; what becomes due is opened with the closing."""
        self._need_going()
        async with self._door:
            event = decide.closing(self.moment.job, self.moment.verdicts)
            if isinstance(event, ev.JobClosed):
                for due in self.moment.job.sheet.due:
                    if due.what in self.moment.job.due:  # opened by a closing that was cut short
                        continue
                    await self._store_event(ev.DueOpened(what=due.what, after=due.after))
            await self._store_event(event)
            return self.moment

    async def interrupted(self, why: str) -> Moment:
        """Leave the job open on the trail, with the reason; a closed job stays as it is."""
        if self.moment.job.closed:
            return self.moment
        return await self._record(ev.Interrupted(why=why))

    # --- the one door -----------------------------------------------------------------------------------------------

    async def _say(self, decision: Callable[[Moment], ev.Event]) -> Moment:
        self._need_going()
        async with self._door:
            return await self._store_event(decision(self.moment))

    def _need_going(self) -> None:
        if self._halted:
            raise BadInput(f"The job is stopped: {self._halted}", "Leave, settle it, and resume the job.")

    async def _record(self, event: ev.Event) -> Moment:
        async with self._door:
            return await self._store_event(event)

    async def _store_event(self, event: ev.Event) -> Moment:
        """Store an event, and what follows from it at once: readings that a failed zero check made suspect."""
        cut: asyncio.CancelledError | None = None
        following: ev.Event | None = event
        while following is not None:
            try:
                await self._store_one(following)
            except asyncio.CancelledError as error:  # stored; so is what follows, then the cancelling goes on
                cut = error
            following = self._suspected()
        if cut is not None:
            raise cut
        return self.moment

    def _suspected(self) -> ev.Suspected | None:
        found = suspected(self.moment.job)
        return found if found is not None and not set(found.readings) <= set(self.moment.job.suspect) else None

    async def _store_one(self, event: ev.Event) -> Moment:
        before, seq = self.moment, self._trail.head.seq + 1
        bare = envelope(self._clock, before.job.id, seq, event, ev.Shown())
        after = moment_of(apply(before.job, bare), bare)
        append = self._trail.append(bytes_of(bare.model_copy(update={"shown": shown(before, after)})))
        cancelled = await landed(append)
        record = bare.model_copy(update={"seq": append.result().seq, "shown": shown(before, after)})
        if record.seq != seq:  # something else was appended meanwhile: what counts is the order on the disk
            after = moment_of(apply(before.job, record), record)
        self.moment = replace(after, record=record, said=happened(after.job, event))
        for listener in self.listeners:
            listener(self.moment)
        if cancelled:
            raise asyncio.CancelledError
        return self.moment

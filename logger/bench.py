"""The live session: tools and a person -> events on the trail -> the fold -> whoever listens.

Everything goes through one door (`_record`): the event is on the disk and chained before anyone is told of it.
"""

import asyncio
import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Self

from drivers.reading import Arrival, Clock, Link, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded

from . import decide, intake
from . import events as ev
from .envelope import bytes_of, envelope, landed, store
from .errors import BadInput
from .job import Job, apply
from .plan import Plan, plan
from .prompt import Prompt, next_prompt
from .pulls import Found, PullSettings, PullState, feed, flush
from .rules import Judged, judge
from .sheetfile import Loaded
from .shelf import begin, load_job
from .trail import Trail
from .words import happened

PROGRAM = "evenhand 0.1.0"


@dataclass(frozen=True, slots=True)
class Moment:
    """What a listener is told: the job as it stands, and what to do next."""

    job: Job
    verdicts: Mapping[str, Judged]
    prompt: Prompt
    plan: Plan | None
    """The advice, at an adjust prompt."""
    record: ev.Record
    """The event that led here, as stored."""
    said: str
    """One line on that event; empty for what needs no word."""


@dataclass(frozen=True, slots=True)
class Opening:
    """Who does what on which machine."""

    sheet: Loaded
    machine: str
    by: str
    simulated: bool = False
    seed: int | None = None
    offset: str = "+00:00"


Listener = Callable[[Moment], None]
LiveListener = Callable[[TorqueSample, PullState], None]


class Bench:
    """One open job at one bench."""

    def __init__(self, trail: Trail, clock: Clock, job: Job, record: ev.Record) -> None:
        self._trail = trail
        self._clock = clock
        self._door = asyncio.Lock()
        self._pulls: dict[str, PullState] = {}
        self._settings = PullSettings()
        self.tools: dict[str, ToolState] = {}
        self.listeners: list[Listener] = []
        self.live_listeners: list[LiveListener] = []
        self.moment = _moment(job, record)

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
        )
        job_id = f"j{trail.head.seq + 1}"
        first = begin(envelope(clock, job_id, trail.head.seq + 1, event, ev.Shown()))
        verdicts = judge(first)
        shown = ev.Shown(
            verdicts={check: judged.verdict for check, judged in verdicts.items()},
            prompt=next_prompt(first, verdicts).key,
        )
        record = await store(trail, envelope(clock, job_id, trail.head.seq + 1, event, shown))
        return cls(trail, clock, begin(record), record)

    @classmethod
    async def resume(cls, trail: Trail, clock: Clock, job_id: str, by: str = "") -> Self:
        """Take up an open job where its trail ends; BadInput when it is closed or unknown."""
        job, found = load_job(trail.path, job_id)
        if job.closed:
            raise BadInput(f"Job {job_id} is closed.", "Look at it with: evenhand replay " + job_id)
        bench = cls(trail, clock, job, found[-1])
        await bench._record(ev.JobResumed(by=by or job.by))
        return bench

    @property
    def path(self) -> Path:
        """The trail's file."""
        return self._trail.path

    # --- what arrives -----------------------------------------------------------------------------------------------

    async def arrive(self, arrival: Arrival) -> Moment:
        """Take one arrival from a driver; whatever may be a reading is recorded."""
        async with self._door:
            match arrival:
                case ToolReading():
                    await self._store_event(intake.reading_event(self.moment.job, self.moment.prompt, arrival))
                case TorqueSample() | ToolPeak():
                    await self._torque(arrival)
                case Undecoded(aside=True):
                    pass  # a heartbeat is not a reading that could not be understood
                case Undecoded():
                    await self._store_event(intake.undecoded_event(arrival))
                case ToolState():
                    await self._tool_state(arrival)
            return self.moment

    async def _torque(self, arrival: TorqueSample | ToolPeak) -> None:
        try:
            state, found = feed(self._pulls.get(arrival.tool, PullState()), arrival, self._settings)
        except BadInput as error:
            await self._store_event(intake.no_torque_event(arrival, error.message))
            return
        self._pulls[arrival.tool] = state
        if isinstance(arrival, TorqueSample):
            for listener in self.live_listeners:
                listener(arrival, state)
        await self._store_pulls(found)

    async def _store_pulls(self, found: tuple[Found, ...]) -> None:
        cut: asyncio.CancelledError | None = None
        for each in found:
            try:
                await self._store_event(intake.found_event(self.moment.job, self.moment.prompt, each))
            except asyncio.CancelledError as error:  # stored; so are the rest, then the cancelling goes on
                cut = error
        if cut is not None:
            raise cut

    async def settle_pulls(self) -> Moment:
        """End pulls that wait for a peak their tool will not send any more (it fell silent or went away)."""
        async with self._door:
            for tool, state in list(self._pulls.items()):
                self._pulls[tool], found = flush(state, self._clock.now().mono_ns, self._settings)
                await self._store_pulls(found)
            return self.moment

    async def _tool_state(self, state: ToolState) -> None:
        before = self.tools.get(state.tool)
        for other in [name for name, each in self.tools.items() if name != state.tool and _same_radio(each, state)]:
            del self.tools[other]  # until it tells its serial number, a tool goes by its advertised name
        self.tools[state.tool] = state
        if before is None or replace(before, at=state.at) != state:
            await self._store_event(intake.state_event(state))
        if state.link is Link.LOST and state.tool in self._pulls:
            pulls, found = flush(self._pulls[state.tool], None, self._settings)
            self._pulls[state.tool] = pulls
            await self._store_pulls(found)

    # --- what the person says ---------------------------------------------------------------------------------------

    async def confirm(self) -> Moment:
        """Confirm what the present prompt asks to confirm; BadInput when it asks for something else."""
        return await self._say(lambda m: decide.confirmed(m.job, m.prompt))

    async def note(self, text: str) -> Moment:
        """Answer a note prompt, or leave a free note."""
        return await self._say(lambda m: decide.noted(m.prompt, m.job, text))

    async def loosened(self, *names: str) -> Moment:
        """Report fasteners loosened: those named, else those the prompt is about."""
        return await self._say(lambda m: decide.loosened(m.job, m.prompt, names))

    async def turned(self, left: Decimal, right: Decimal) -> Moment:
        """Report adjusters turned, in flats; positive tightens."""
        return await self._say(lambda m: decide.turned(m.job, m.prompt, left, right, m.plan))

    async def turned_as_advised(self) -> Moment:
        """Report adjusters turned as the advice says; BadInput when nothing is advised now."""
        advice = self.moment.plan.advice if self.moment.plan else None
        if self.moment.prompt.kind != "turn" or advice is None:
            raise BadInput("Nothing is advised now.", "Say: turned LEFT RIGHT, in flats.")
        left, right = (Decimal(side.numerator) / Decimal(side.denominator) for side in (advice.left, advice.right))
        return await self.turned(left, right)

    async def take_back(self, why: str) -> Moment:
        """Withdraw the last counted reading or pull; it stays on the trail."""
        return await self._say(lambda m: decide.taken_back(m.job, why))

    async def override(self, check: str, name: str, note: str) -> Moment:
        """Let one open check pass as it is."""
        return await self._say(lambda m: decide.overridden(m.verdicts, check, name, note))

    async def close(self) -> Moment:
        """Close the job, or record the refusal; what becomes due is opened with the closing."""
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
        return await self._say(lambda _: ev.Interrupted(why=why))

    # --- the one door -----------------------------------------------------------------------------------------------

    async def _say(self, decision: Callable[[Moment], ev.Event]) -> Moment:
        async with self._door:
            return await self._store_event(decision(self.moment))

    async def _record(self, event: ev.Event) -> Moment:
        async with self._door:
            return await self._store_event(event)

    async def _store_event(self, event: ev.Event) -> Moment:
        before, seq = self.moment, self._trail.head.seq + 1
        bare = envelope(self._clock, before.job.id, seq, event, ev.Shown())
        after = _moment(apply(before.job, bare), bare)
        append = self._trail.append(bytes_of(bare.model_copy(update={"shown": _shown(before, after)})))
        cancelled = await landed(append)
        record = bare.model_copy(update={"seq": append.result().seq, "shown": _shown(before, after)})
        if record.seq != seq:  # something else was appended meanwhile: what counts is the order on the disk
            after = _moment(apply(before.job, record), record)
        self.moment = replace(after, record=record, said=happened(after.job, event))
        for listener in self.listeners:
            listener(self.moment)
        if cancelled:
            raise asyncio.CancelledError
        return self.moment


def _same_radio(one: ToolState, other: ToolState) -> bool:
    return bool(one.address) and one.address == other.address


def _moment(job: Job, record: ev.Record) -> Moment:
    verdicts = judge(job)
    prompt = next_prompt(job, verdicts)
    return Moment(job, verdicts, prompt, plan(job, prompt), record, "")


def _shown(before: Moment, after: Moment) -> ev.Shown:
    changed = {
        check: judged.verdict
        for check, judged in after.verdicts.items()
        if before.verdicts[check].verdict != judged.verdict
    }
    return ev.Shown(verdicts=changed, prompt=after.prompt.key)

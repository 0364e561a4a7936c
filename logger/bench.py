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

from drivers.reading import RADIO, Arrival, Clock, Link, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded
from drivers.typed import TYPED

from . import decide, declare, intake
from . import events as ev
from .envelope import bytes_of, envelope, landed, store
from .errors import BadInput
from .job import Job, apply
from .plan import Plan, plan
from .prompt import Prompt, next_prompt
from .pullfigures import stated_settings
from .pulls import Found, PullState
from .rules import Judged, judge
from .sheetfile import Loaded
from .shelf import begin, load_job
from .trail import Trail
from .words import happened
from .wrenches import Wrench
from .zeroed import suspected

PROGRAM = "evenhand 0.1.0"
MOST_SAID = 300
"""Characters of a sentence on the trail."""


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
    side_offset: ev.SideOffset | None = None


Listener = Callable[[Moment], None]
LiveListener = Callable[[TorqueSample, PullState], None]
Describe = Callable[[str, str, str], ev.ToolDescribed | None]
"""A tool, its kind and its profile (the last two may be empty) -> what is stated of it, or None."""


def _nothing_stated(_tool: str, _kind: str, _profile: str) -> ev.ToolDescribed | None:
    return None


class Bench:
    """One open job at one bench."""

    def __init__(self, trail: Trail, clock: Clock, job: Job, record: ev.Record) -> None:
        self._trail = trail
        self._clock = clock
        self._door = asyncio.Lock()
        self._wrenches: dict[str, Wrench] = {}
        self._introduced: set[tuple[str, str]] = set()
        self.describe: Describe = _nothing_stated
        """Asked once for each tool and profile; its answer is on the trail before the first reading of the tool."""
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
            side_offset=opening.side_offset,
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
            await self._introduce(arrival)
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

    async def _introduce(self, arrival: Arrival) -> None:
        """Put what is stated of a tool on the trail when it first takes part, and again when that has changed."""
        declared = self.moment.job.typed_with
        match arrival:
            case ToolState(link=Link.READY) if arrival.tool != RADIO:
                await self._described(arrival.tool, arrival.kind, arrival.profile)
            case ToolReading(tool=tool) if tool != TYPED:
                await self._described(tool, arrival.kind, self._profile(tool))
            case ToolReading() if declared is not None and declared.tool_kind:
                await self._described(declared.tool, declared.tool_kind, "")
            case TorqueSample(tool=tool) | ToolPeak(tool=tool):
                known = self.tools.get(tool)
                await self._described(tool, known.kind if known else "torque wrench", self._profile(tool))
            case _:
                pass

    def _profile(self, tool: str) -> str:
        return self.tools[tool].profile if tool in self.tools else ""

    async def _described(self, tool: str, kind: str, profile: str) -> None:
        if (tool, profile) in self._introduced or self.moment.job.closed:
            return
        self._introduced.add((tool, profile))
        await self._state(self.describe(tool, kind, profile))

    async def _state(self, described: ev.ToolDescribed | None) -> None:
        """Store what is stated of a tool unless the job knows it so already."""
        if described is None or self.moment.job.tools.get(described.tool) == described:
            return
        await self._store_event(described)
        wrong = stated_settings(described)[1]
        if wrong:
            await self._store_event(ev.FaultTold(what=f"tool {described.tool}", said=wrong[:MOST_SAID]))

    def _wrench(self, tool: str) -> Wrench:
        wrench, described = self._wrenches.setdefault(tool, Wrench()), self.moment.job.tools.get(tool)
        if wrench.described != described:
            wrench.describe(described)
        return wrench

    async def _torque(self, arrival: TorqueSample | ToolPeak) -> None:
        wrench = self._wrench(arrival.tool)
        try:
            found = wrench.feed(arrival)
        except BadInput as error:
            await self._store_event(intake.no_torque_event(arrival, error.message))
            return
        if isinstance(arrival, TorqueSample):
            for listener in self.live_listeners:
                listener(arrival, wrench.state)
        await self._store_pulls(found, wrench)

    async def _store_pulls(self, found: tuple[Found, ...], wrench: Wrench) -> None:
        cut: asyncio.CancelledError | None = None
        for each in found:
            try:
                event = intake.found_event(self.moment.job, self.moment.prompt, each, wrench.settings)
                await self._store_event(event)
            except asyncio.CancelledError as error:  # stored; so are the rest, then the cancelling goes on
                cut = error
        if cut is not None:
            raise cut

    async def settle_pulls(self) -> Moment:
        """End pulls that wait for a peak their tool will not send any more (it fell silent or went away)."""
        async with self._door:
            for wrench in list(self._wrenches.values()):
                await self._store_pulls(wrench.flush(self._clock.now().mono_ns), wrench)
            return self.moment

    async def _tool_state(self, state: ToolState) -> None:
        before = self.tools.get(state.tool)
        for other in [name for name, each in self.tools.items() if name != state.tool and _same_radio(each, state)]:
            del self.tools[other]  # until it tells its serial number, a tool goes by its advertised name
        self.tools[state.tool] = state
        if before is None or replace(before, at=state.at) != state:
            await self._store_event(intake.state_event(state))
        if state.link is Link.LOST and state.tool in self._wrenches:
            wrench = self._wrenches[state.tool]
            await self._store_pulls(wrench.flush(None), wrench)

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

    async def declare(self, what: str) -> Moment:
        """Say which tool typed readings come from, by its kind or its name in the toolbook; "off" says no tool."""
        async with self._door:
            kind = declare.kind_of(what)
            known = None if kind is not None else self.describe(what, "", "")
            event = declare.declared(self.moment.job, what, known)
            if event.tool_kind:
                await self._state(known or self.describe(event.tool, event.tool_kind, "") or declare.ruled(event))
            return await self._store_event(event)

    async def adapter(self, step: str, adapter: ev.Adapter | None) -> Moment:
        """Put a torque adapter on the wrench for a torque step, or take it off; without a step, the one asked about."""
        return await self._say(lambda m: declare.adapter_declared(m.job, m.prompt, step, adapter))

    async def fault(self, what: str, said: str) -> Moment:
        """Put on the trail that something failed or came back, as the person was told; a closed job stays as it is."""
        if self.moment.job.closed:
            return self.moment
        return await self._say(lambda _: ev.FaultTold(what=what[:MOST_SAID], said=said[:MOST_SAID]))

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
        return found if found is not None and not set(found.readings) <= self.moment.job.suspect else None

    async def _store_one(self, event: ev.Event) -> Moment:
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

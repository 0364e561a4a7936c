"""Everything that can happen in a job, as a tagged union; the tags are words of ours and never change.

Decimals are text exactly as received, instants are RFC 3339 UTC text, and there is no float anywhere, so that the
stored bytes are canonical (RFC 8785) and any language can verify them. What events are made of is in `eventparts` and
reached from here too, so that whoever knows events needs one name: `from logger import events as ev`.
"""

from typing import Annotated, Literal

from pydantic import Field

from .confined import Confined, Digits, Id, Line, Name
from .eventparts import (
    Adapter as Adapter,
    Figures as Figures,
    OpenCheck as OpenCheck,
    Pick as Pick,
    PullFigures as PullFigures,
    Received as Received,
    SetAside as SetAside,
    SideOffset as SideOffset,
    Slot as Slot,
    Verdict as Verdict,
    Verdicts as Verdicts,
)


class JobOpened(Confined):
    """A job begins; the sheet is kept whole, so that the trail replays without the file."""

    kind: Literal["job_opened"] = "job_opened"
    sheet: Id
    revision: str
    sheet_sha256: str
    sheet_text: str
    machine: Name
    by: Name
    simulated: bool
    seed: int | None = None
    offset: str
    """Local offset from UTC when the job was opened, "+01:00"."""
    program: str
    """Version of the program that wrote this."""
    side_offset: SideOffset | None = None


class JobResumed(Confined):
    """An open job was taken up again by a new process."""

    kind: Literal["job_resumed"] = "job_resumed"
    by: Name


class CautionsRead(Confined):
    """A person said that they have read the cautions of the sheet; it answers no check."""

    kind: Literal["cautions_read"] = "cautions_read"
    by: Name
    count: int
    """How many the sheet states."""


class Interrupted(Confined):
    """The process was asked to end with the job open."""

    kind: Literal["interrupted"] = "interrupted"
    why: Line


class ToolSeen(Confined):
    """A tool's link changed or it told of itself."""

    kind: Literal["tool_seen"] = "tool_seen"
    tool: str
    tool_kind: str
    link: str
    battery: int | None = None
    """In percent."""
    address: str = ""
    serial: str = ""
    model: str = ""
    firmware: str = ""
    message: str = ""
    profile: str = ""
    """The name of the profile it is read by."""


class ToolDescribed(Confined):
    """What is stated of a tool that takes part: amounts as text with their unit or in %, dates as YYYY-MM-DD."""

    kind: Literal["tool_described"] = "tool_described"
    tool: str
    tool_kind: str
    profile: str = ""
    stated_by: Literal["profile", "toolbook", "program"]
    accuracy: str | None = None
    """The largest error as plus or minus."""
    of_reference: bool = False
    """Whether an accuracy in % is of the true value, as ISO 6789 has it for torque."""
    resolution: str | None = None
    calibration_u: str | None = None
    """The expanded uncertainty of its calibration."""
    calibration_k: str = "2"
    calibrated: str | None = None
    due: str | None = None
    certificate: str = ""
    pull: PullFigures | None = None
    sample_rate: int | None = None
    own_peak: bool = False


class ToolDeclared(Confined):
    """A person says which tool their typed readings come from, from now on."""

    kind: Literal["tool_declared"] = "tool_declared"
    tool: str
    tool_kind: str


class ToolsPicked(Confined):
    """A person says before the job which tools they use for it, where several would do."""

    kind: Literal["tools_picked"] = "tools_picked"
    by: Name
    picks: tuple[Pick, ...]


class AdapterDeclared(Confined):
    """A person put an adapter on the wrench for a torque step, or took it off (None)."""

    kind: Literal["adapter_declared"] = "adapter_declared"
    step: Id
    adapter: Adapter | None


class Suspected(Confined):
    """A zero check failed: the readings of that tool since its last good one are suspect; nothing is edited."""

    kind: Literal["suspected"] = "suspected"
    tool: str
    zero: int
    """The reading that failed the zero check."""
    readings: tuple[int, ...]
    why: Line


class Reviewed(Confined):
    """A job was looked at again after a tool was found to read wrong; nothing of it is changed."""

    kind: Literal["reviewed"] = "reviewed"
    tool: str
    error: str
    """What the tool was found to read too much, as text with its unit or in %; negative is too little."""
    since: str
    changed: tuple[Verdicts, ...]
    call_back: bool
    """Whether a check that passed would not pass."""


class Commented(Confined):
    """A reviewer's comment on a job as it stood at one event, or on the whole; nothing of the job is changed."""

    kind: Literal["commented"] = "commented"
    at: int
    """Number of the event that the comment is on."""
    name: Name
    text: Line
    signs: bool = False
    """Whether the reviewer signs the job off with it."""


class FaultTold(Confined):
    """Something of the program or the radio failed, or came back, and the person was told."""

    kind: Literal["fault_told"] = "fault_told"
    what: Line
    said: Line


class FrameUndecoded(Confined):
    """A frame that could not be understood, kept as hex."""

    kind: Literal["frame_undecoded"] = "frame_undecoded"
    tool: str
    characteristic: str
    raw: str
    reason: str
    received: Received


class ReadingTaken(Confined):
    """One reading of a tool or a person, with the prompt it answered, if any."""

    kind: Literal["reading_taken"] = "reading_taken"
    answers: Slot | None
    set_aside: SetAside = ""
    tool: str
    tool_kind: str
    quantity: Literal["length", "torque"]
    value: Digits
    unit: str
    source: Literal["sig", "described", "profile", "typed"]
    raw: str
    characteristic: str = ""
    mode: str = ""
    """The mode the tool said it was in, where it says one."""
    key_gap_ms: int | None = None
    """Of a typed line, the median time between its keys: evidence of a tool or a hand, and no proof."""
    received: Received


class PullTaken(Confined):
    """One pull of a torque wrench from rest to rest, or a typed torque.

    `answers` is the fastener a prompt asked for; `touches` the one it is taken to have moved even when no prompt
    asked, since a pull disturbs whatever was meant by it. `own_peak` is the tool's own figure and decides;
    `host_peak` is the largest sample and cross-checks it. The trace is (milliseconds from the first sample, value).
    """

    kind: Literal["pull_taken"] = "pull_taken"
    answers: Slot | None
    touches: Slot | None
    set_aside: SetAside = ""
    tool: str
    unit: str
    source: Literal["sig", "described", "profile", "typed"]
    direction: Literal["clockwise", "anticlockwise"] = "clockwise"
    own_peak: Digits | None
    host_peak: Digits | None
    first_peak: Digits | None = None
    """Where the torque first fell back (the click of a setting wrench), when that came before the maximum."""
    warnings: tuple[str, ...] = ()
    """What the detector noticed: peaks that disagree, a rest value off zero."""
    invalid: str = ""
    """Why the pull cannot be trusted (a gap in the stream); empty when it can."""
    trace: tuple[tuple[int, Digits], ...] = ()
    how: Literal["measured", "set and clicked"] = "measured"
    """A setting wrench tells what it was set to and that it clicked, not what it measured."""
    figures: PullFigures | None = None
    """The settings the pull was found with, so that its trace replays to the same peak."""
    under_read: Digits | None = None
    """How far the largest sample may lie below the true peak because of the sampling, in `unit`."""
    adapter: Adapter | None = None
    """The adapter that was on the wrench; peaks are as the wrench read them."""
    raw: str = ""
    key_gap_ms: int | None = None
    """Of a typed line, the median time between its keys: evidence of a tool or a hand, and no proof."""
    received: Received


class Confirmed(Confined):
    """A person confirmed every item of a confirm step."""

    kind: Literal["confirmed"] = "confirmed"
    step: Id
    items: tuple[Line, ...]


class Untouched(Confined):
    """A person confirmed that a fastener was not loosened and its witness mark is in line."""

    kind: Literal["untouched"] = "untouched"
    step: Id
    place: str = ""


class Noted(Confined):
    """A note: the answer to a note step, or a free one (`step` empty)."""

    kind: Literal["noted"] = "noted"
    step: str = ""
    text: Line


class Loosened(Confined):
    """An act: fasteners were loosened, each as `step` or `step.place`."""

    kind: Literal["loosened"] = "loosened"
    step: str = ""
    """The adjust or torque step that asked for it, or empty when a person reported it unasked."""
    fasteners: tuple[str, ...]


class Turned(Confined):
    """An act: adjusters were turned; flats as decimal text, positive tightens (axle rearward)."""

    kind: Literal["turned"] = "turned"
    step: Id
    left: Digits
    right: Digits
    advised_left: Digits | None = None
    advised_right: Digits | None = None
    before: Figures | None = None
    expected: Figures | None = None


class Seated(Confined):
    """An act: the axle was seated against its adjusters and the nut snugged, as the adjust step says."""

    kind: Literal["seated"] = "seated"
    step: Id
    items: tuple[Line, ...]


class TakenBack(Confined):
    """A reading or a pull was withdrawn; it stays on the trail. What it disturbed stays disturbed."""

    kind: Literal["taken_back"] = "taken_back"
    of: int
    """Number of the event that is taken back."""
    why: Line


class Overridden(Confined):
    """A person lets one check pass as it is."""

    kind: Literal["overridden"] = "overridden"
    check: str
    name: Name
    note: Line
    was: Verdict


class CloseRefused(Confined):
    """Closing was asked for and refused."""

    kind: Literal["close_refused"] = "close_refused"
    open: tuple[OpenCheck, ...]


class DueOpened(Confined):
    """Something becomes due after this job, as its sheet says."""

    kind: Literal["due_opened"] = "due_opened"
    what: Line
    after: str


class JobClosed(Confined):
    """The job was closed with every check passed or overridden."""

    kind: Literal["job_closed"] = "job_closed"
    by: Name
    verdicts: dict[str, Verdict]


Event = Annotated[
    JobOpened
    | JobResumed
    | CautionsRead
    | Interrupted
    | ToolSeen
    | ToolDescribed
    | ToolDeclared
    | ToolsPicked
    | AdapterDeclared
    | Suspected
    | FaultTold
    | Reviewed
    | Commented
    | FrameUndecoded
    | ReadingTaken
    | PullTaken
    | Confirmed
    | Untouched
    | Noted
    | Loosened
    | Turned
    | Seated
    | TakenBack
    | Overridden
    | CloseRefused
    | DueOpened
    | JobClosed,
    Field(discriminator="kind"),
]


class Shown(Confined):
    """What the person was shown as a result of one event: the verdicts that changed, and the next prompt."""

    verdicts: dict[str, Verdict] = Field(default_factory=dict)
    prompt: str = ""


class Record(Confined):
    """One row of the trail: an event with its place in the order, both clocks, and what it led to on screen."""

    v: Literal[1] = 1
    seq: int
    job: Id
    utc: str
    mono_us: int
    boot: str
    event: Event
    shown: Shown = Shown()

"""Everything that can happen in a job, as a tagged union; the tags are words of ours and never change.

Decimals are text exactly as received, instants are RFC 3339 UTC text, and there is no float anywhere, so that the
stored bytes are canonical (RFC 8785) and any language can verify them. Here stand the events of a job's own course;
those of tools and of work, and what events are made of, are reached from here too, so that whoever knows events needs
one name: `from logger import events as ev`.
"""

from typing import Annotated, Literal

from pydantic import Field

from .confined import Confined, Id, Line, Name
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
from .toolevents import (
    AdapterDeclared as AdapterDeclared,
    FrameUndecoded as FrameUndecoded,
    PullTaken as PullTaken,
    ReadingTaken as ReadingTaken,
    ToolDeclared as ToolDeclared,
    ToolDescribed as ToolDescribed,
    ToolSeen as ToolSeen,
    ToolsPicked as ToolsPicked,
)
from .workevents import (
    Confirmed as Confirmed,
    Loosened as Loosened,
    Noted as Noted,
    Overridden as Overridden,
    Seated as Seated,
    TakenBack as TakenBack,
    Turned as Turned,
    Untouched as Untouched,
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

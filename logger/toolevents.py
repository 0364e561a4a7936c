"""What tools send, and what is said of them, as events: readings, pulls, links, what is stated, picked and declared."""

from typing import Literal

from .confined import Confined, Digits, Id, Name
from .eventparts import Adapter, Pick, PullFigures, Received, SetAside, Slot


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

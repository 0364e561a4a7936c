"""What a record says of what was taken: readings, pulls, and the tools they came from."""

from typing import Literal

from logger.confined import Confined
from logger.events import Adapter, PullFigures, SetAside


class Withdrawn(Confined):
    """Why and when a reading or a pull was taken back."""

    why: str
    seq: int
    utc: str


class ReadingPart(Confined):
    """One reading, whether it counted or not; `value` as received, in the unit as sent."""

    seq: int
    utc: str
    step: str
    place: str
    part: str
    attempt: int | None
    """The number of its attempt at this place, from 1; None where it does not count."""
    suspect: bool
    """Whether a zero check of its tool failed later; nothing of it was changed."""
    set_aside: SetAside
    """Why it does not count; empty when it answered a prompt."""
    value: str
    unit: str
    quantity: str
    tool: str
    tool_kind: str
    source: str
    raw: str
    characteristic: str
    mode: str
    key_gap_ms: int | None
    """Of a typed reading, the median time between its keys."""
    withdrawn: Withdrawn | None


class PullPart(Confined):
    """One pull of a torque wrench, or a typed torque, whether it counted or not."""

    seq: int
    utc: str
    step: str
    place: str
    asked: bool
    """Whether a prompt asked for it; a pull that was not asked for still disturbs."""
    set_aside: SetAside
    own_peak: str | None
    """The tool's own figure; it decides."""
    host_peak: str | None
    """The largest sample; it cross-checks."""
    first_peak: str | None
    unit: str
    direction: str
    warnings: tuple[str, ...]
    invalid: str
    tool: str
    source: str
    how: Literal["measured", "set and clicked"]
    figures: PullFigures | None
    """The settings it was found with."""
    under_read: str | None
    """How far the largest sample may lie below the true peak, in `unit`."""
    adapter: Adapter | None
    """The adapter on the wrench; peaks are as the wrench read them."""
    at_fastener: str | None
    """The torque that decides, at the fastener, in `unit`: the peak, or what an adapter makes of it, rounded."""
    window: tuple[str, str] | None
    """What passes at the fastener in the pass it was made in, as the sheet wrote it; None where none was meant."""
    stands: Literal["low", "inside", "high"] | None
    """Where the deciding torque lies in that window, worked out exactly."""
    raw: str
    key_gap_ms: int | None
    """Of a typed torque, the median time between its keys."""
    trace: tuple[tuple[int, str], ...]
    """Milliseconds from the first sample, value."""
    withdrawn: Withdrawn | None


class ToolPart(Confined):
    """A tool that took part, with what it told of itself last."""

    tool: str
    kind: str
    profile: str
    serial: str
    model: str
    firmware: str
    address: str
    battery: int | None
    """In percent."""
    accuracy: str | None
    resolution: str | None
    calibration_u: str | None
    calibrated: str | None
    due: str | None
    certificate: str
    stated_by: str
    """Who stated these figures: the toolbook, its profile, the program; empty when nobody did."""

"""Parts of a record that tell what people wrote, what became due, and what went wrong; a part of `form`."""

from logger.confined import Confined
from logger.events import Verdicts


class NotePart(Confined):
    """Something written down; `step` is empty for a free note."""

    seq: int
    utc: str
    step: str
    text: str


class DuePart(Confined):
    """What becomes due after the job."""

    what: str
    after: str


class SuspectPart(Confined):
    """A zero check that failed: the reading that failed it and the readings it made suspect, by sequence."""

    seq: int
    utc: str
    tool: str
    zero: int
    readings: tuple[int, ...]
    why: str


class FaultPart(Confined):
    """Something of the program or the radio failed or came back during the job."""

    seq: int
    utc: str
    what: str
    said: str


class CommentPart(Confined):
    """What a reviewer wrote on the job, or on one event of it; `signs` says whether they signed it off."""

    seq: int
    utc: str
    at: int
    name: str
    text: str
    signs: bool


class ReviewPart(Confined):
    """The job was judged again after a tool was found to read wrong by `error`: which verdicts would be others."""

    seq: int
    utc: str
    tool: str
    error: str
    since: str
    changed: tuple[Verdicts, ...]
    call_back: bool


class RefusalPart(Confined):
    """A closing that was refused, with the checks that were open then."""

    seq: int
    utc: str
    open: tuple[str, ...]

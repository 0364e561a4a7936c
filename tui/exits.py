"""How the program ends: every exit code, named in this one place."""

from enum import IntEnum

from logger.errors import BadInput, EvenhandError, NothingToTalkTo, NotStored, TrailBusy, TrailDamaged


class Exit(IntEnum):
    """Exit codes; the last three are those of sysexits.h (BSD): EX_SOFTWARE, EX_IOERR, EX_TEMPFAIL."""

    DONE = 0
    BAD_INPUT = 2
    LEFT_OPEN = 3
    """Closing was refused, or the job was left open."""
    DAMAGED = 4
    """The trail is damaged, or differs from what was recorded."""
    NOTHING_TO_TALK_TO = 5
    """No adapter, no tool."""
    WARNED = 6
    """The doctor found something to see to."""
    UNFIT = 7
    """The doctor found something that keeps tools or the trail from working."""
    FAULT = 70
    """A fault of the program; a crash file tells more."""
    NOT_STORED = 74
    """An event did not reach the disk."""
    BUSY = 75
    """Another process is writing the trail; try again when it has ended."""


_CODES: tuple[tuple[type[EvenhandError], Exit], ...] = (
    (BadInput, Exit.BAD_INPUT),
    (TrailDamaged, Exit.DAMAGED),
    (NothingToTalkTo, Exit.NOTHING_TO_TALK_TO),
    (NotStored, Exit.NOT_STORED),
    (TrailBusy, Exit.BUSY),
)


def code_of(error: EvenhandError) -> Exit:
    """Return the exit code that tells of an error."""
    return next((code for kind, code in _CODES if isinstance(error, kind)), Exit.FAULT)


def by_signal(number: int) -> int:
    """Return the exit code of a process that a signal ended: 128 + n, as shells report it."""
    return 128 + number

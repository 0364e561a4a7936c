"""What can go wrong, told to a person: one sentence that says what and where, and one that says what to do.

Every error meant for a person is an `EvenhandError`; any other exception that leaves the house is a bug.
"""

# ruff: noqa: N818 (an error is named by what happened, as a person would say it)


class EvenhandError(Exception):
    """Something a person can act on."""

    def __init__(self, message: str, remedy: str = "") -> None:
        super().__init__(message, remedy)
        self.message = message
        """One sentence: what is wrong, and where."""
        self.remedy = remedy
        """One sentence: what to do; empty only where the message already says it."""

    def __str__(self) -> str:
        return f"{self.message} {self.remedy}".rstrip()


class BadInput(EvenhandError):
    """What was given (text, a file, a record) is not what is allowed."""


class TrailDamaged(EvenhandError):
    """The trail is not what was written."""


class TrailBusy(EvenhandError):
    """Another process is writing this trail."""


class NotStored(EvenhandError):
    """An event did not reach the disk; nothing more may be measured until the trail is opened again."""


class NothingToTalkTo(EvenhandError):
    """There is no adapter, no tool or no broker."""

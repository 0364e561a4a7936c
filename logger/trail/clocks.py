"""What the two clocks of neighbouring events tell of the host: its clock was put back or forward, or it slept; pure.

Order is by number and never by a clock, so nothing here changes a verdict; it is told so that nobody wonders at the
times. The running clock (`mono_us`) counts on when the other one is changed, stands still while the host sleeps, and
begins anew with each start (`boot`). Instants are written here too, so that all are of one form.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal, Protocol

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_BACK = timedelta(seconds=-2)
_AHEAD = timedelta(seconds=5)
"""What an ordinary correction over the network stays below; suspending takes longer."""


@dataclass(frozen=True, slots=True)
class Moment:
    """When one event happened, by both clocks of the host."""

    seq: int
    utc: datetime
    mono: timedelta
    boot: str


@dataclass(frozen=True, slots=True)
class Jump:
    """Between two events of a job the clock did not go as time does."""

    before: int
    after: int
    """Number of the later of the two, as `before` is of the earlier."""
    by: timedelta
    """How far the clock went more than the running clock counted; negative: it went back."""
    kind: Literal["back", "ahead", "restart"]

    def sentence(self) -> str:
        """Say it to a person."""
        where = f"Between events {self.before} and {self.after}"
        if self.kind == "ahead":
            return (
                f"{where} the host slept, or its clock was put forward, by {_length(self.by)}. "
                "What was prompted before still stands."
            )
        how = "shows an earlier time after a restart" if self.kind == "restart" else "was put back"
        return (
            f"{where} the host's clock {how}, by {_length(self.by)}: go by the numbers of events, not by their times."
        )


def utc_text(utc_ns: int) -> str:
    """Return RFC 3339 text of an instant, UTC, always six decimals, so that text order is time order."""
    at = _EPOCH + timedelta(microseconds=utc_ns // 1000)
    return at.isoformat(timespec="microseconds").replace("+00:00", "Z")


def moment_of(record: Mapping[str, object]) -> Moment | None:
    """Return when a stored record happened; None where it does not say so in the form this program writes."""
    seq, utc, mono, boot = (record.get(key) for key in ("seq", "utc", "mono_us", "boot"))
    if not (isinstance(seq, int) and isinstance(utc, str) and isinstance(mono, int) and isinstance(boot, str)):
        return None
    try:
        at = datetime.fromisoformat(utc)
    except ValueError:
        return None
    return Moment(seq, at, timedelta(microseconds=mono), boot) if at.tzinfo is not None else None


class Stamped(Protocol):
    """An event with its number and both clocks, as it is stored."""

    @property
    def seq(self) -> int:
        """Its number."""
        ...

    @property
    def utc(self) -> str:
        """By the clock that people read, as RFC 3339 text."""
        ...

    @property
    def mono_us(self) -> int:
        """By the clock that nobody sets, in microseconds since the host started."""
        ...

    @property
    def boot(self) -> str:
        """Which start of the host that was."""
        ...


def between(before: Stamped, after: Stamped) -> Jump | None:
    """Tell whether the clock jumped between two neighbouring events of one job."""
    stamps = (
        {"seq": each.seq, "utc": each.utc, "mono_us": each.mono_us, "boot": each.boot} for each in (before, after)
    )
    return jump(*map(moment_of, stamps))


def jump(before: Moment | None, after: Moment | None) -> Jump | None:
    """Tell whether the clock jumped between two neighbouring events of one job; None where nothing shows that."""
    if before is None or after is None:
        return None
    passed = after.utc - before.utc
    if not before.boot or before.boot != after.boot:  # the running clock began anew: only going back is sure
        is_back = bool(before.boot and after.boot) and passed < _BACK
        return Jump(before.seq, after.seq, passed, "restart") if is_back else None
    by = passed - (after.mono - before.mono)
    if by < _BACK:
        return Jump(before.seq, after.seq, by, "back")
    return Jump(before.seq, after.seq, by, "ahead") if by > _AHEAD else None


def _length(by: timedelta) -> str:
    seconds = round(abs(by).total_seconds())
    days, rest = divmod(seconds, 86_400)
    parts = ((days, "d"), (rest // 3600, "h"), (rest % 3600 // 60, "min"), (rest % 60, "s"))
    return " ".join(f"{count} {unit}" for count, unit in parts if count) or "0 s"

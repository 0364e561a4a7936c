"""What the shelf keeps of a job and of a machine, and how names and mileages in it are compared; pure.

Apart from the making (`summing`, `machines`): whoever asks an index that is up to date waits for no rules.
"""

import unicodedata
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from logger.confined import Confined
from logger.eventparts import Verdict


class WearSum(Confined):
    """What a job read of the chain's wear; shares as decimal text, 0.01 is 1 %."""

    share: str
    u: str
    """Its standard uncertainty, 0 where nothing is known of it."""
    limit: str | None


class LetPass(Confined):
    """An override that stands."""

    check: str
    name: str
    note: str
    title: str = ""
    """The check as its sheet calls it; empty where the sheet cannot be read."""


class DueSum(Confined):
    """What was opened as becoming due."""

    what: str
    after: str


class JobSum(Confined):
    """One job as a list shows it."""

    job: str
    first: int
    events: int
    sheet: str
    sheet_sha256: str
    revision: str
    machine: str
    by: str
    people: tuple[str, ...]
    """Everyone who opened it, took it up, closed it or let something pass."""
    state: str
    """"open" or "closed"."""
    opened: str
    """UTC."""
    last: str
    """UTC of its last event."""
    closed: str | None
    simulated: bool
    verdicts: dict[str, Verdict]
    """As last shown."""
    overrides: tuple[LetPass, ...]
    tools: tuple[str, ...]
    """Those that gave a reading or a pull."""
    mileage: str | None
    mileage_unit: str
    wear: WearSum | None
    due: tuple[DueSum, ...]
    call_back: tuple[str, ...]
    """Tools after whose recall a check that passed would not."""
    called_back_at: int
    """Number of the event by which the last of them called it back first; 0 where none did."""
    kept: tuple[str, ...] = ()
    """Records that wear is worked out from, as long as the job is open."""

    @property
    def standing(self) -> tuple[LetPass, ...]:
        """The overrides that hold at its end."""
        return tuple(each for each in self.overrides if self.verdicts.get(each.check) == "overridden")


class Forecast(Confined):
    """How the chain wears and when its limit is met, as decimal text; mileages in `unit`."""

    unit: str
    points: tuple[tuple[str, str, str], ...]
    """Job, mileage, elongation (0.01 is 1 %)."""
    limit: str | None
    slope: str | None
    """Elongation per unit of mileage; None with less than two mileages."""
    slope_u: str | None
    intercept: str | None
    at: str | None
    """Mileage at which the limit is met; None where the readings do not surely rise yet."""
    earliest: str | None
    latest: str | None
    """The interval of that, about 95 %."""


class DueItem(Confined):
    """One thing that is due on a machine: now, at a mileage, on a day, or after what was written."""

    what: str
    job: str
    now: bool = False
    at: str | None = None
    """Mileage."""
    day: str | None = None
    """YYYY-MM-DD: as stated, or when the mileage is expected to be reached."""
    is_expected: bool = False
    after: str = ""


class MachineSum(Confined):
    """One machine with what its jobs tell together."""

    machine: str
    jobs: int
    last_job: str
    last: str
    """Day of its last job."""
    mileage: str | None
    unit: str
    per_day: str | None
    """Mileage a day between its first and its last job that wrote one down."""
    wear: Forecast | None
    due: tuple[DueItem, ...]


def key_of(name: str) -> str:
    """Return a name as it is compared: without regard to case, kind of blanks or composition."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def number_of(text: str | None) -> Fraction | None:
    """Return a mileage as a number; None where what was written down is none."""
    try:
        found = None if text is None else Decimal(text.strip())
    except InvalidOperation:
        return None
    exponent = None if found is None else found.as_tuple().exponent
    # few digits, whatever a person wrote: 1e-999999999 as a fraction would fill the memory
    if found is None or not isinstance(exponent, int) or not -9 <= exponent <= 9 or abs(found) >= 10**9:
        return None
    return Fraction(found)

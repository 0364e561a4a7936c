"""What the shelf keeps of a job, and how names and mileages in it are compared; pure. `summing` makes it.

Apart from the making, since whoever asks an index that is up to date waits for no rules and no sheets.
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
    kept: tuple[str, ...] = ()
    """Records that wear is worked out from, as long as the job is open."""

    @property
    def standing(self) -> tuple[LetPass, ...]:
        """The overrides that hold at its end."""
        return tuple(each for each in self.overrides if self.verdicts.get(each.check) == "overridden")


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

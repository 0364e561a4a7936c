"""A tool was found to read wrong: each reading of it corrected, each check judged again; pure.

What ISO 9001:2015, 7.1.5.2 asks for: whether earlier results hold when equipment is found unfit for its purpose.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from typing import Self

from logger import events as ev
from logger.errors import BadInput
from logger.job.facts import Job
from logger.job.judged import Judged
from logger.sheets.sheet import Sheet
from logger.units import Kind, Quantity, decimals, factor, parse_quantity, show_number, trimmed, unit_names, unit_of

from .rejudge import Again, Records, compared, folded

_PLAIN = re.compile(r"[0-9]+(\.[0-9]+)?")
MORE_DIGITS = 4
"""Decimals that a corrected reading has beyond those that were read."""
_ERRORS: tuple[Kind, ...] = ("length", "torque", "share")
"""What a tool can be off by."""
_WIDE = Context(prec=200, rounding=ROUND_HALF_EVEN)
"""Room for the 64 digits of a stored reading, and for those that a correction adds."""
MOST_SAID = 20
"""Characters of a unit that are said again where it is wrong."""


@dataclass(frozen=True, slots=True)
class ToolError:
    """How much a tool reads too much: a length or a torque, or a share of the true value; negative is too little."""

    amount: Quantity

    @classmethod
    def of(cls, text: str) -> Self:
        """Read "+3 %" or "-0.04 mm"; BadInput when it is neither, or so large that nothing would be left."""
        amount = parse_quantity(text.replace("−", "-"), _ERRORS)
        if amount.kind not in _ERRORS:
            raise BadInput(f"An error of {amount} cannot be.", f"Write it in {', '.join(unit_names(_ERRORS))}.")
        if amount.unit == "%" and abs(amount.value) >= 100:
            raise BadInput(f"An error of {amount} cannot be.", "Write how far off the tool reads, such as +3 %.")
        return cls(amount)

    @property
    def is_share(self) -> bool:
        """Whether it is a share of the true value (ISO 6789: relative to the reference)."""
        return self.amount.unit == "%"

    def corrects(self, unit: str) -> bool:
        """Whether readings in a unit can be corrected by it."""
        kind = unit_of(unit)
        return kind is not None and (self.is_share or kind[0] == self.amount.kind)

    def corrected(self, text: str, unit: str) -> str:
        """Return what was true when the tool read `text`, rounded to four decimals more than it was read with."""
        read = Decimal(text)
        if self.is_share:
            true = Fraction(read) / (1 + Fraction(self.amount.value) / 100)
        else:
            true = Fraction(read) - Fraction(self.amount.value) * factor(self.amount.unit, unit)
        exponent = read.as_tuple().exponent
        digits = MORE_DIGITS + max(0, -exponent if isinstance(exponent, int) else 0)
        whole = _WIDE.divide(Decimal(true.numerator), Decimal(true.denominator))
        return format(whole.quantize(Decimal(1).scaleb(-digits), context=_WIDE), "f")


@dataclass(frozen=True, slots=True)
class Recall:
    """One job that a tool touched, with the checks that rest on it judged again."""

    job: Job
    touched: int
    """How many of its readings and pulls came from the tool in that time."""
    affected: tuple[Again, ...]
    """Checks whose value is another once corrected."""

    @property
    def changed(self) -> tuple[Again, ...]:
        """The affected checks whose verdict is another."""
        return tuple(each for each in self.affected if each.differs)

    @property
    def call_back(self) -> bool:
        """Whether a check that let the job close would not have done so."""
        return self.job.closed and any(each.fails_now for each in self.affected)


def recalled(records: Records, sheet: Sheet, tool: str, since: str, error: ToolError) -> Recall | None:
    """Judge a job again with the readings of a tool corrected; None when it has none of that kind since then."""
    touched = sum(_of(record, tool, since) and error.corrects(unit) for record, unit in _read(records))
    if not touched:
        return None
    before = folded(records, sheet)
    after = folded(corrected(records, tool, since, error), sheet)
    found = compared(before, after)
    affected = tuple(each for each in found if each.was and each.now and each.was.value != each.now.value)
    return Recall(before, touched, tuple(_told(each, error) for each in affected))


def _told(each: Again, error: ToolError) -> Again:
    """Keep what a pull truly was, where as a part of the run-up it decides nothing any more."""
    was, now = each.was, each.now
    if was is None or now is None or now.text or was.value is None or not error.corrects(was.unit):
        return each
    kind = unit_of(was.unit)
    if kind is None or kind[0] != "torque" or not _PLAIN.fullmatch(was.text):
        return each
    return replace(each, now=replace(now, text=error.corrected(was.text, was.unit), unit=was.unit))


def corrected(records: Records, tool: str, since: str, error: ToolError) -> tuple[ev.Record, ...]:
    """Return the records with what a tool read since then corrected; nothing stored is touched."""
    return tuple(
        record.model_copy(update={"event": _corrected(record.event, error)}) if _of(record, tool, since) else record
        for record in records
    )


def need_fitting(jobs: Sequence[Records], tool: str, error: ToolError) -> None:
    """Raise BadInput where a tool read something, and never what an error of this kind could be of."""
    named = (each for job in jobs for each in _read(job) if _of(each[0], tool, ""))
    units = tuple(dict.fromkeys(unit for _, unit in named))
    few = [unit[:MOST_SAID] for unit in units[:3]]
    if not units or any(error.corrects(unit) for unit in units):
        return
    kinds = dict.fromkeys(kind[0] for unit in units if (kind := unit_of(unit)) is not None)
    raise BadInput(
        f"{tool} read {' and '.join(few)}, and {error.amount} is no {' or '.join(kinds) or 'such amount'}.",
        f"Write how far off it reads in {few[0]} or in %, such as +3 %, or name another tool.",
    )


def _read(records: Records) -> Iterator[tuple[ev.Record, str]]:
    """Every reading and pull with its unit."""
    for record in records:
        if isinstance(record.event, ev.ReadingTaken | ev.PullTaken):
            yield record, record.event.unit


def _of(record: ev.Record, tool: str, since: str) -> bool:
    match record.event:
        case ev.ReadingTaken(tool=name) | ev.PullTaken(tool=name):
            return name == tool and record.utc >= since
        case _:
            return False


def _corrected(event: ev.Event, error: ToolError) -> ev.Event:
    match event:
        case ev.ReadingTaken(value=value, unit=unit) if error.corrects(unit):
            return event.model_copy(update={"value": error.corrected(value, unit)})
        case ev.PullTaken(unit=unit) if error.corrects(unit):
            told = {name: getattr(event, name) for name in ("own_peak", "host_peak", "first_peak")}
            peaks = {name: text and error.corrected(text, unit) for name, text in told.items()}
            trace = tuple((ms, error.corrected(text, unit)) for ms, text in event.trace)
            return event.model_copy(update={**peaks, "trace": trace})
        case _:
            return event


def shown(read: Judged, true: Judged) -> str:
    """Return a corrected value as a person reads it: with the digits that were read, more where they would mislead.

    One more where the correction would not show, and as many as keep it on the side of a limit that its verdict tells.
    """
    if true.value is None or not _PLAIN.fullmatch(plain := true.text.removeprefix("≈ ").removeprefix("-")):
        return true.text
    exact, before, most = Fraction(true.text.removeprefix("≈ ")), read.text.removeprefix("≈ "), decimals(plain)
    start = min(decimals(before), most)
    for digits in range(start, most):
        text = show_number(exact, digits)
        off = abs(Fraction(text) - exact)
        hides = (
            _PLAIN.fullmatch(before.removeprefix("-"))
            and Fraction(text) == Fraction(before)
            and exact != Fraction(text)
        )
        if not hides and (true.margin is None or off == 0 or off < abs(true.margin)):
            return text
    return trimmed(true.text)


def last_calibration(records: Sequence[ev.Record], tool: str) -> str:
    """Return the newest calibration date stated of a tool, as YYYY-MM-DD, or nothing."""
    stated = (each.event for each in records if isinstance(each.event, ev.ToolDescribed) and each.event.tool == tool)
    return max((event.calibrated or "" for event in stated), default="")


def reviewed(found: Recall, tool: str, since: str, error: ToolError) -> ev.Reviewed:
    """Return the event that tells of the review on the trail."""
    changed = tuple(
        ev.Verdicts(check=each.check, was=each.was.verdict, now=each.now.verdict)
        for each in found.changed
        if each.was is not None and each.now is not None
    )
    return ev.Reviewed(tool=tool, error=str(error.amount), since=since, changed=changed, call_back=found.call_back)

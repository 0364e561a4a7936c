"""Where in a frame a number could be, and how it could be written: every guess that fits each known reading."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product

from drivers.decode.numbers import field_number
from drivers.octets import FrameError, shift
from drivers.profile.fields import Bits, Form, Order
from drivers.profile.values import WIDTHS, NumberValue

from .capture import Seen, Shown
from .scale import Case, Display, Pair, by_unit, cases_of

WHOLE = range(-9, 5)
"""Powers of ten of whole numbers: from nanometres to tens of metres, counted in mm."""
FLOATING = range(-3, 4)
"""Of floats, which have a point of their own."""


@dataclass(frozen=True, slots=True)
class NumberGuess:
    """One way to read a number out of a frame."""

    value: NumberValue
    """Form, offset, width, order, mask and sign; the unit and the rest are not filled in."""
    at: int
    """The octet that says the unit, where `mask` is not 0."""
    mask: int
    cases: Mapping[int, Case]
    """What each code of the unit bits stands for; under code 0 alone where there are none."""
    rank: int
    """Less is likelier."""

    def case(self, frame: bytes) -> Case:
        """Return how a frame is scaled; a code never seen counts as the first."""
        code = frame[self.at] & self.mask if self.mask else 0
        return self.cases.get(code) or next(iter(self.cases.values()))

    def raw(self, frame: bytes) -> Decimal | None:
        """Return the number in a frame before it is scaled, or None where there is none."""
        return raw_of(self.value, frame)

    @property
    def span(self) -> range:
        """The octets of the number."""
        return range(self.value.offset, self.value.offset + self.value.width // 8)


def raw_of(value: NumberValue, frame: bytes) -> Decimal | None:
    """Return the number in a frame before it is scaled, or None where there is none."""
    if len(frame) < value.offset + value.width // 8:
        return None
    try:
        number = field_number(value, frame)
    except FrameError:
        return None
    if not isinstance(number, Decimal) or not -30 < number.adjusted() < 25:
        return None  # a float of no size that any tool measures
    return number.copy_negate() if value.sign is not None and value.sign.hold(frame) else number


def number_guesses(
    known: Sequence[Seen], shown: Mapping[str, Display], busy: frozenset[int] = frozenset()
) -> list[NumberGuess]:
    """Return every guess that reads each known frame as it was shown; no flag is looked for in `busy` octets.

    Fields in whole octets come first; only where none of them fits are fields tried that share an octet with flags.
    """
    size = min(len(each.octets) for each in known)
    anchor = max(known, key=lambda each: abs(_value(each)))
    for fields in (_whole_fields(size), _masked_fields(size)):
        fitting = [field for field in fields if _may_fit(field, anchor, shown)]
        found = [
            guess for field in fitting for guess in _guesses(field, known, shown, busy) if not _stuck(guess, known)
        ]
        if found:
            return found
    return []


def _stuck(guess: NumberGuess, known: Sequence[Seen]) -> bool:
    """Whether the digits that the display does not show never change: then they are no digits, but octets beside."""
    rests = set()
    for each in known:
        case, raw = guess.case(each.octets), guess.raw(each.octets)
        if case.exact or case.native != case.unit or raw is None:
            return False
        rests.add(abs(shift(raw, case.exponent)) - abs(_value(each)))
    return len(rests) == 1 and len({_value(each) for each in known}) > 1


def _value(seen: Seen) -> Decimal:
    return _shown(seen).value


def _shown(seen: Seen) -> Shown:
    assert seen.shown is not None
    return seen.shown


def _field(form: Form, offset: int, width: int, order: Order, mask: int | None = None) -> NumberValue:
    # not validated, since there are tens of thousands; what fits is validated when its profile is written
    return NumberValue.model_construct(
        decode="number",
        role="reading",
        characteristic="",
        form=form,
        offset=offset,
        width=width,
        order=order,
        mask=mask,
        sign=None,
    )


def _whole_fields(size: int) -> Iterator[NumberValue]:
    for form, widths in WIDTHS.items():
        for width, offset in product(widths, range(size)):
            if offset + width // 8 <= size:
                yield _field(form, offset, width, "little")
                if width > 8:
                    yield _field(form, offset, width, "big")


def _masked_fields(size: int) -> Iterator[NumberValue]:
    forms: tuple[Form, ...] = ("unsigned", "signed", "sign-magnitude", "bcd")
    orders: tuple[Order, ...] = ("little", "big")
    for width, form, order in product((16, 24, 32), forms, orders):
        for lost in (4,) if form == "bcd" else range(1, 8):
            for offset in range(size - width // 8 + 1):
                yield _field(form, offset, width, order, (1 << (width - lost)) - 1)


def _exponents(field: NumberValue) -> range:
    return FLOATING if field.form in {"float", "medical"} else WHOLE


def _may_fit(field: NumberValue, anchor: Seen, shown: Mapping[str, Display]) -> bool:
    """Whether a field can say the largest reading, or its magnitude where a bit elsewhere may be the sign."""
    raw, said = raw_of(field, anchor.octets), _shown(anchor)
    if raw is None or not raw:
        return False
    said = replace(said, value=abs(said.value)) if field.form in {"unsigned", "bcd"} else said
    return bool(cases_of([(raw, said)], shown[said.unit], _exponents(field)))


def _guesses(
    field: NumberValue, known: Sequence[Seen], shown: Mapping[str, Display], busy: frozenset[int]
) -> Iterator[NumberGuess]:
    for signed in _with_signs(field, known, busy):
        raws = [raw_of(signed, each.octets) for each in known]
        pairs: list[Pair] = [(raw, _shown(each)) for raw, each in zip(raws, known, strict=True) if raw is not None]
        if len(pairs) < len(known):
            return
        for guess in _scaled(signed, pairs, known, shown):
            if not (guess.mask and guess.at in busy):
                yield guess


def _with_signs(field: NumberValue, known: Sequence[Seen], busy: frozenset[int]) -> Iterator[NumberValue]:
    negative = [_value(each) < 0 for each in known]
    if field.form not in {"unsigned", "bcd"} or not any(negative):
        yield field
        return
    own = range(field.offset, field.offset + field.width // 8)
    for at, bit in product(range(min(len(each.octets) for each in known)), range(8)):
        mask = 1 << bit
        if at in busy:
            continue
        if at in own and not (field.mask is not None and _outside_mask(field, at, mask)):
            continue
        states = {(bool(each.octets[at] & mask), _value(each) < 0) for each in known if _value(each)}
        if len({state for state, _ in states}) == len(states) and _tells(states):
            equals = mask if (True, True) in states else 0
            yield field.model_copy(update={"sign": Bits(at=at, mask=mask, equals=equals)})


def _tells(states: set[tuple[bool, bool]]) -> bool:
    """Whether the bit differs between readings above and below zero; with those below alone, a set bit is needed."""
    return len(states) == 2 or states == {(True, True)}


def _outside_mask(field: NumberValue, at: int, mask: int) -> bool:
    place = at - field.offset
    low = place if field.order == "little" else field.width // 8 - 1 - place
    return not ((field.mask or 0) >> (8 * low)) & mask


def _scaled(
    field: NumberValue, pairs: Sequence[Pair], known: Sequence[Seen], shown: Mapping[str, Display]
) -> Iterator[NumberGuess]:
    units = by_unit(pairs)
    options: dict[str, tuple[Case, ...]] = {}
    zeros: list[str] = []
    for unit, some in units.items():
        if not some[0][1].value:
            if any(raw for raw, _ in some):
                return
            zeros.append(unit)
        else:
            options[unit] = cases_of(some, shown[unit], _exponents(field))
    options |= {unit: _of_zero(unit, options, shown) for unit in zeros}
    for cases in product(*options.values()):
        if field.form in {"float", "medical"} and len({case.exponent for case in cases}) > 1:
            continue  # it has a point of its own, and needs no other scale in another unit
        alone = len({(case.native, case.exponent) for case in cases}) == 1
        own = all(case.native == case.unit for case in cases)
        if not (own or alone):
            continue
        rank = _rank(field, cases, shown)
        if len(cases) == 1 or alone:
            yield NumberGuess(field, 0, 0, {0: cases[0]}, rank + (20 if len(cases) > 1 else 0))
        if len(cases) > 1:
            yield from _with_unit_bits(field, cases, known, rank)


def _of_zero(unit: str, options: Mapping[str, Sequence[Case]], shown: Mapping[str, Display]) -> tuple[Case, ...]:
    """Return how a unit may be scaled in which only zeros were shown, which tell nothing: as the others are."""
    exponents = set()
    for case in (case for cases in options.values() for case in cases):
        exponents |= {case.exponent, case.exponent + shown[case.unit].digits - shown[unit].digits}
    return tuple(Case(unit, unit, exponent, exact=True) for exponent in sorted(exponents))


def _with_unit_bits(
    field: NumberValue, cases: Sequence[Case], known: Sequence[Seen], rank: int
) -> Iterator[NumberGuess]:
    """Yield a guess for each smallest group of bits of an octet that tells the shown units apart."""
    own = range(field.offset, field.offset + field.width // 8)
    by_name = {case.unit: case for case in cases}
    for at in range(min(len(each.octets) for each in known)):
        if at in own and field.mask is None:
            continue
        found: list[int] = []
        for mask in _MASKS:
            if any(mask & smaller == smaller for smaller in found):
                continue
            if at in own and not _outside_mask(field, at, mask):
                continue
            codes = {(each.octets[at] & mask, _shown(each).unit) for each in known}
            if len({code for code, _ in codes}) == len(codes) == len(cases):  # a unit has one code
                found.append(mask)
                ordered = {code: by_name[unit] for code, unit in sorted(codes, key=lambda c: list(by_name).index(c[1]))}
                yield NumberGuess(field, at, mask, ordered, rank + _spread(at, known))


_MASKS = tuple(((1 << size) - 1) << low for size in range(1, 9) for low in range(9 - size))
"""Bits side by side, the smallest groups first."""


def _spread(at: int, known: Iterable[Seen]) -> int:
    """Likelier is the unit in an octet of few different values than in a counter or a check sum."""
    return 3 * len({each.octets[at] for each in known})


_LIKELY: dict[Form, int] = {"signed": 1, "unsigned": 0, "sign-magnitude": 6, "bcd": 5, "float": 3, "medical": 4}


def _rank(field: NumberValue, cases: Sequence[Case], shown: Mapping[str, Display]) -> int:
    rank = _LIKELY[field.form] + field.width // 8 + (field.order == "big")
    rank += (field.sign is not None) * 3 + (field.mask is not None) * 8
    for case in cases:
        rank += 0 if case.exact else 15
        rank += 0 if case.native == case.unit else 30
        usual = 0 if field.form in {"float", "medical"} else -shown[case.unit].digits
        rank += 2 * abs(case.exponent - usual)
    return rank

"""Ways of reading that are alike on every frame seen: which one to go by, where they would part, and what would tell.

A wider whole number whose upper octets repeated the sign is likelier than a narrow one beside octets that happen to do
so. Neither is proven, so a profile reads only where all agree.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from drivers.decode.numbers import read_number
from drivers.octets import FrameError
from drivers.profile.values import NumberValue, OtherWay

from .number import NumberGuess
from .scale import Case
from .text import TextGuess

Guess = NumberGuess | TextGuess
MOST_TRIED = 40
"""Other ways that are held against the one gone by, the likeliest first."""
MOST_FRAMES = 6
"""Known frames that are varied to find where two ways part."""
MOST_KEPT = 16
"""Other ways that a profile can name."""


def widest(guesses: Sequence[Guess]) -> Guess:
    """Return the likeliest guess, or the widest whole number that is this one with more octets that repeat its sign."""
    best = guesses[0]
    if not isinstance(best, NumberGuess):
        return best
    wider = [each for each in guesses[1:] if isinstance(each, NumberGuess) and _extends(best, each)]
    found = max([best, *wider], key=lambda guess: guess.value.width)
    return replace(found, rank=best.rank)


def _extends(narrow: NumberGuess, wide: NumberGuess) -> bool:
    a, b = narrow.value, wide.value
    if not a.form == b.form == "signed" or a.mask is not None or b.mask is not None or b.width <= a.width:
        return False
    low = a.offset == b.offset if b.order == "little" else narrow.span.stop == wide.span.stop
    order = a.order == b.order or a.width == 8
    return low and order and (narrow.at, narrow.mask, narrow.cases) == (wide.at, wide.mask, wide.cases)


def others_of(value: NumberValue, alike: Iterable[Guess], frames: Sequence[bytes]) -> tuple[OtherWay, ...]:
    """Return the other ways that would read some frame otherwise which the profile's value would read."""
    kept: list[OtherWay] = []
    tried = [each for each in alike if isinstance(each, NumberGuess)][:MOST_TRIED]
    varied = list(dict.fromkeys(_varied(frames)))
    for other in filter(None, map(_other, tried)):
        if len(kept) < MOST_KEPT and _parts(value, kept, other, varied, frames):
            kept.append(other)
    return tuple(kept)


def _parts(
    value: NumberValue, kept: Sequence[OtherWay], other: OtherWay, varied: Sequence[bytes], frames: Sequence[bytes]
) -> bool:
    """Whether another way agrees on each frame seen, and on one that was varied does not."""
    so_far = value.model_copy(update={"agree": tuple(kept)})
    with_it = value.model_copy(update={"agree": (*kept, other)})
    if not all(_reads(with_it, frame) for frame in frames):
        return False  # alike by rounding alone: it can never be held to
    return any(_reads(so_far, frame) and not _reads(with_it, frame) for frame in varied)


def _reads(value: NumberValue, frame: bytes) -> bool:
    try:
        read_number(value, frame)
    except FrameError:
        return False
    return True


def _varied(frames: Sequence[bytes]) -> Iterator[bytes]:
    """Yield known frames, each with one bit turned over."""
    for frame in frames[:MOST_FRAMES]:
        for bit in range(8 * len(frame)):
            changed = bytearray(frame)
            changed[bit // 8] ^= 1 << bit % 8
            yield bytes(changed)


def _other(guess: NumberGuess) -> OtherWay | None:
    """Return a guess as a profile names it beside the one it goes by; None where the tool counts in another unit."""
    value, cases = guess.value, list(guess.cases.items())
    if any(case.native != case.unit for case in guess.cases.values()):
        return None
    first: Case = cases[0][1]
    table: dict[str, object] = {key: getattr(value, key) for key in ("form", "offset", "width", "order", "mask")}
    table |= {"sign": value.sign, "exponent": first.exponent}
    if guess.mask:
        codes = tuple({"equals": code, "unit": case.native, "exponent": case.exponent} for code, case in cases)
        table["units"] = {"at": guess.at, "mask": guess.mask, "cases": codes}
    else:
        table["unit"] = first.native
    return OtherWay.model_validate(table)


def telling(guess: Guess, alike: Iterable[Guess]) -> str:
    """Say what to measure next to tell ways apart that read every frame seen alike."""
    widths = [each.value.width for each in (guess, *alike) if isinstance(each, NumberGuess)]
    if not isinstance(guess, NumberGuess) or guess.value.form in {"float", "medical"} or len(set(widths)) < 2:
        return "measure other values, larger ones and one below zero where the tool shows them"
    unsigned = guess.value.form == "unsigned"
    case = next(iter(guess.cases.values()))
    most = Decimal((1 << min(widths) - (0 if unsigned else 1)) - 1).scaleb(case.exponent)
    below = " or below zero" if unsigned else ""
    return f"measure something larger than {most:f} {case.native}{below}, where the tool can"

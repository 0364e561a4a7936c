"""Ways of reading that are alike on every frame seen: which one to go by, where they would part, and what would tell.

A wider whole number whose upper octets repeated the sign is likelier than a narrow one beside octets that happen to do
so. Neither is proven, so a profile reads only where all agree.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from drivers.decode.numbers import read_number
from drivers.octets import FrameError
from drivers.profile.values import NumberForm, NumberValue, OtherWay

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
    bare = value.model_copy(update={"agree": ()})
    if not all(_reads(bare, frame) for frame in frames):
        return ()
    kept: list[OtherWay] = []
    tried = [each for each in alike if isinstance(each, NumberGuess)][:MOST_TRIED]
    varied = _Varied(bare, frames[:MOST_FRAMES])
    for other in filter(None, map(_other, tried)):
        # where they are alike by rounding alone, it can never be held to
        if all(varied.agrees(other, frame) for frame in frames) and varied.parted_by(other):
            kept.append(other)
            varied.hold(other)
        if len(kept) == MOST_KEPT:
            break
    return tuple(kept)


class _Varied:
    """Known frames, each with one bit turned over, as far as the profile's value reads them as all ways held to do.

    A frame is varied only in the octets of the two ways at hand: with a bit turned elsewhere, each says what it said.
    """

    def __init__(self, value: NumberValue, frames: Sequence[bytes]) -> None:
        self._value, self._frames = value, frames
        self._unmarked = value.model_copy(update={"header": (), "fixed": ()})  # up to hundreds, looked at once a frame
        self._held: list[OtherWay] = []
        self._read: dict[int, list[bytes]] = {}
        """By the octet that was varied."""

    def agrees(self, other: OtherWay, frame: bytes) -> bool:
        """Whether another way says the same of a frame that the profile's value reads."""
        return _reads(self._unmarked.model_copy(update={"agree": (other,)}), frame)

    def parted_by(self, other: OtherWay) -> bool:
        """Whether another way, alike on each frame seen, is not so on one that was varied."""
        octets = sorted(_octets(self._value) | _octets(other))
        return any(not self.agrees(other, frame) for at in octets for frame in self._read_at(at))

    def hold(self, other: OtherWay) -> None:
        """Leave out what this way reads otherwise, from now on."""
        self._held.append(other)
        self._read = {at: [each for each in some if self.agrees(other, each)] for at, some in self._read.items()}

    def _read_at(self, at: int) -> list[bytes]:
        if at not in self._read:
            self._read[at] = [
                changed
                for changed in _turned(self._frames, at)
                if _reads(self._value, changed) and all(self.agrees(other, changed) for other in self._held)
            ]
        return self._read[at]


def _octets(value: NumberForm) -> set[int]:
    """Return the octets that say a number and its unit."""
    own = set(range(value.offset, value.offset + value.width // 8))
    return own | {each.at for each in (value.sign, value.units) if each is not None}


def _turned(frames: Sequence[bytes], at: int) -> Iterator[bytes]:
    """Yield the frames with one bit of an octet turned over, each bit in its turn."""
    for frame in frames:
        for bit in range(8) if at < len(frame) else ():
            changed = bytearray(frame)
            changed[at] ^= 1 << bit
            yield bytes(changed)


def _reads(value: NumberValue, frame: bytes) -> bool:
    try:
        read_number(value, frame)
    except FrameError:
        return False
    return True


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

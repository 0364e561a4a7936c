"""The value in sight: big digits, its verdict as word and shape, its window as a bar; or two sides; or the advice."""

from collections.abc import Iterable, Iterator

from rich.cells import cell_len
from textual.content import Content

from logger import events as ev
from logger.words import SHAPES
from tui.glance import Advice, Live, Pair, Shown, Value
from tui.look import style_of
from tui.safe import safe_text

from .bar import bar_rows
from .blocks import big, size
from .painted import Painted, padded, plain, wrapped

_GAP = 2


class Sight(Painted):
    """What is in sight now; a pull in progress goes before everything else."""

    def __init__(self) -> None:
        super().__init__(id="sight")
        self._shown: Shown = None
        self._live: Live | None = None
        self._else = ""

    def show(self, shown: Shown, otherwise: str) -> None:
        """Show a value, a pair or the advice; or one line where there is none of them."""
        if (shown, otherwise, None) != (self._shown, self._else, self._live):
            self._shown, self._else, self._live = shown, otherwise, None
            self.refresh()

    def pull(self, live: Live | None) -> None:
        """Show a pull in progress, or no longer."""
        if live != self._live:
            self._live = live
            self.refresh()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint what is in sight, the more of it the more room there is."""
        if self._live is not None:
            return _live(self._live, width, height)
        match self._shown:
            case Value() as value:
                return _value(value, width, height)
            case Pair() as pair:
                return _pair(pair, width, height)
            case Advice() as advice:
                return _advice(advice, width, height)
            case None:
                return (padded(self._else, width, "$quiet"),)


# --- one value ------------------------------------------------------------------------------------------------------


def _value(value: Value, width: int, height: int) -> Iterator[Content]:
    """Title, digits, verdict and bar; in few rows the digits shrink first and the bar goes last but the verdict."""
    strip = _strip(value, width)
    if height < 4:
        yield from _in_few_rows(value, width, height)
        return
    bar = () if value.bar is None or height < 6 else bar_rows(value.bar, width)
    title = (value.title,) if height > 4 else ()
    for line in title:
        yield padded(safe_text(line), width, "$quiet")
    yield from _digits(value.text, value.unit, width, height - len(title) - len(bar) - 1, style_of(value.verdict))
    yield strip
    for row in bar:
        yield padded(row, width)
    yield from (padded(row, width) for row in wrapped(value.reason, width) if value.reason)


def _in_few_rows(value: Value, width: int, height: int) -> Iterator[Content]:
    said = f"{safe_text(value.text)} {safe_text(value.unit)}".strip() or "no value yet"
    yield padded(f"{said}  {safe_text(value.title)}", width, style_of(value.verdict))
    if height > 1:
        yield _strip(value, width)


def _digits(text: str, unit: str, width: int, height: int, style: str) -> Iterator[Content]:
    """The number as big as it fits with its unit beside it, always in so many rows as fit a digit."""
    shown, unit = safe_text(text) or "––", safe_text(unit) if text else ""
    rows = big(shown, width - cell_len(unit) - _GAP, max(height, 1)) or (shown,)
    for at, row in enumerate(rows):
        last = at == len(rows) - 1
        yield padded(f"{row}{' ' * _GAP}{unit}" if last else row, width, style)


def _strip(value: Value, width: int) -> Content:
    """The verdict in one row that can be seen from afar: shape, word, margin, what was expected."""
    word = verdict_word(value.verdict)
    more = [f"margin {value.margin}" if value.margin else "", value.beside, "" if value.bar else value.reason]
    said = "   ".join(safe_text(part) for part in (word, *more) if part)
    return padded(f" {said} ", width, f"{style_of(value.verdict)} reverse") if word else padded(said, width, "bold")


def verdict_word(verdict: ev.Verdict | None) -> str:
    """A verdict as shape and word."""
    return "" if verdict is None else f"{SHAPES[verdict]} {verdict.upper()}"


# --- two sides ------------------------------------------------------------------------------------------------------


def _pair(pair: Pair, width: int, height: int) -> Iterator[Content]:
    """Both sides beside each other, and their difference under them."""
    half = width // 2
    bar = () if pair.difference.bar is None or height < 8 else bar_rows(pair.difference.bar, width)
    left, right = (_side(value, half - _GAP, height - len(bar) - 2) for value in pair.sides)
    yield padded(_side_name(pair.sides[0]), half) + padded(_side_name(pair.sides[1]), width - half)
    for row in range(max(len(left), len(right))):
        yield _beside(left, row, half, pair.sides[0]) + _beside(right, row, width - half, pair.sides[1])
    yield _difference(pair.difference, width)
    for line in bar:
        yield padded(line, width)


def _side_name(value: Value) -> str:
    """The place of a side, with its own verdict where it has one to tell."""
    place = safe_text(value.title.rpartition(", ")[2]).upper()
    told = "" if value.verdict in (None, "inside") else f"  {verdict_word(value.verdict)}"
    return f"{place}{told}"


def _side(value: Value, width: int, height: int) -> tuple[str, ...]:
    shown = safe_text(value.text) or "––"
    return big(shown, width, max(height, 1)) or (f"{shown} {safe_text(value.unit)}",)


def _beside(rows: tuple[str, ...], row: int, width: int, value: Value) -> Content:
    return padded(rows[row] if row < len(rows) else "", width, style_of(value.verdict))


def _difference(difference: Value, width: int) -> Content:
    word = verdict_word(difference.verdict)
    what = f"{difference.title} {difference.text} {difference.unit}" if difference.text else difference.reason
    said = "   ".join(safe_text(part) for part in (word, what, difference.beside) if part)
    return padded(f" {said} ", width, f"{style_of(difference.verdict)} reverse")


# --- the advice -----------------------------------------------------------------------------------------------------


def _advice(advice: Advice, width: int, height: int) -> Iterator[Content]:
    """LEFT and RIGHT in big words, then what to expect and to mind."""
    under = [row for line in advice.lines for row in wrapped(line, width)]
    if advice.left:
        room = min(max((height - min(len(under), 4)) // 2, 1), 7)
        for side, said in (("left", advice.left), ("right", advice.right)):
            for row in _turn(side, said, width, room):
                yield padded(row, width, "$primary bold")
    for row in under:
        yield plain(row)


def _turn(side: str, said: str, width: int, height: int) -> tuple[str, ...]:
    whole = f"{side} {said}"
    drawn = big(whole, width, height)
    return drawn if drawn is not None and size(whole, (2, 1))[0] <= width else (whole.upper(),)


# --- a pull in progress ---------------------------------------------------------------------------------------------


def _live(live: Live, width: int, height: int) -> Iterator[Content]:
    bar = () if live.bar is None or height < 6 else bar_rows(live.bar, width)
    yield padded(f"{safe_text(live.title)}   most so far {safe_text(live.held)}", width, "$quiet")
    yield from _digits(live.text, live.unit, width, height - len(bar) - 2, style_of(live.verdict))
    yield padded(f" {live.word} ", width, f"{style_of(live.verdict)} reverse")
    for row in bar:
        yield padded(row, width)

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
from .blocks import big, largest, stacked
from .painted import Painted, padded, plain, wrapped

_GAP = 2
_DIGITS = "$foreground bold"


class Sight(Painted):
    """What is in sight now; a pull in progress goes before everything else."""

    def __init__(self) -> None:
        super().__init__(id="sight")
        self._shown: Shown = None
        self._live: Live | None = None
        self._else: tuple[str, ...] = ()

    def show(self, shown: Shown, otherwise: tuple[str, ...]) -> None:
        """Show a value, a pair or the advice; or lines where there is none of them."""
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
                return _aside(self._else, width, height)


def _aside(lines: tuple[str, ...], width: int, height: int) -> Iterator[Content]:
    """Paint the lines that fit whole, cautions with their mark."""
    for line in lines:
        rows = wrapped(line.replace("Caution:", "!", 1), width, "  ")
        height -= len(rows)
        if height < 0:
            return
        yield from (padded(row, width, "$quiet") for row in rows)


# --- one value ------------------------------------------------------------------------------------------------------


def _value(value: Value, width: int, height: int) -> Iterator[Content]:
    """Title, digits, verdict with its reason, bar; in few rows the digits shrink first, and the verdict goes last."""
    if height < 4:
        yield from _in_few_rows(value, width, height)
        return
    strip, reason = _strip(value, width)
    bar = () if value.bar is None or height < 6 else bar_rows(value.bar, width)
    under = wrapped(reason, width)[: max(height - len(bar) - 5, 0)] if reason else []
    yield padded(_named(value), width, "$quiet")
    yield from _digits(value.text, value.unit, width, height - len(bar) - len(under) - 2)
    yield strip
    yield from (padded(row, width) for row in (*under, *bar))


def _named(value: Value) -> str:
    """The value in one line: its number, what was expected of it, and last, since it may be cut, what it is of."""
    text = f"{value.text} {value.unit}".strip() if value.text else "no value yet"
    return "  ".join(safe_text(part) for part in (text, value.beside, value.title) if part)


def _in_few_rows(value: Value, width: int, height: int) -> Iterator[Content]:
    yield padded(_named(value), width, style_of(value.verdict))
    if height > 1:
        yield _strip(value, width)[0]


def _digits(text: str, unit: str, width: int, height: int) -> Iterator[Content]:
    """The number as big as it fits with its unit beside it, always in so many rows as fit a digit."""
    shown, unit = safe_text(text) or "––", safe_text(unit) if text else ""
    rows = big(shown, width - cell_len(unit) - _GAP, max(height, 1)) or (shown,)
    for at, row in enumerate(rows):
        last = at == len(rows) - 1
        yield padded(f"{row}{' ' * _GAP}{unit}" if last else row, width, _DIGITS)


def _strip(value: Value, width: int) -> tuple[Content, str]:
    """The verdict in one row that can be seen from afar: shape, word, margin; and the reason where it did not fit.

    The reason goes into the row where it fits whole.
    """
    word = verdict_word(value.verdict)
    parts = [word, f"margin {value.margin}" if value.margin else ""]
    said = "   ".join(safe_text(part) for part in parts if part)
    whole = "   ".join(filter(None, (said, safe_text(value.reason))))
    fits = cell_len(whole) + 2 <= width
    style = f"{style_of(value.verdict)} reverse" if word else "bold"
    return padded(f" {whole if fits else said} ", width, style), "" if fits else value.reason


def verdict_word(verdict: ev.Verdict | None) -> str:
    """A verdict as shape and word."""
    return "" if verdict is None else f"{SHAPES[verdict]} {verdict.upper()}"


# --- two sides ------------------------------------------------------------------------------------------------------


def _pair(pair: Pair, width: int, height: int) -> Iterator[Content]:
    """Both sides beside each other, and their difference under them."""
    half = width // 2
    strip, more = _difference(pair.difference, width)
    bar = () if pair.difference.bar is None or height < 8 else bar_rows(pair.difference.bar, width)
    under = (*((more,) if more and height > 5 else ()), *bar)
    left, right = (_side(value, half - _GAP, height - len(under) - 2) for value in pair.sides)
    yield padded(_side_name(pair.sides[0]), half) + padded(_side_name(pair.sides[1]), width - half)
    for row in range(max(len(left), len(right))):
        yield _beside(left, row, half) + _beside(right, row, width - half)
    yield strip
    yield from (padded(row, width) for row in under)


def _side_name(value: Value) -> str:
    """The place of a side with its value, and its own verdict where it has one to tell."""
    place = safe_text(value.title.rpartition(", ")[2]).upper()
    text = f" {safe_text(value.text)} {safe_text(value.unit)}" if value.text else ""
    told = "" if value.verdict in (None, "inside") else f"  {verdict_word(value.verdict)}"
    return f"{place}{text}{told}"


def _side(value: Value, width: int, height: int) -> tuple[str, ...]:
    shown = safe_text(value.text) or "––"
    return big(shown, width, max(height, 1)) or (f"{shown} {safe_text(value.unit)}",)


def _beside(rows: tuple[str, ...], row: int, width: int) -> Content:
    return padded(rows[row] if row < len(rows) else "", width, _DIGITS)


def _difference(difference: Value, width: int) -> tuple[Content, str]:
    """The verdict on the difference in one row, and what was expected of it where that did not fit."""
    word = verdict_word(difference.verdict)
    what = f"{difference.title} {difference.text} {difference.unit}" if difference.text else difference.reason
    said = "   ".join(safe_text(part) for part in (word, what) if part)
    beside = safe_text(difference.beside)
    whole = f"{said}   {beside}" if beside else said
    fits = cell_len(whole) + 2 <= width
    style = f"{style_of(difference.verdict)} reverse"
    return padded(f" {whole if fits else said} ", width, style), "" if fits else beside


# --- the advice -----------------------------------------------------------------------------------------------------


def _advice(advice: Advice, width: int, height: int) -> Iterator[Content]:
    """LEFT and RIGHT beside each other in big words, then what to expect and to mind."""
    under = [row for line in advice.lines for row in wrapped(line, width)]
    half = width // 2
    names = [f"LEFT: {advice.left}", f"RIGHT: {advice.right}"] if advice.left else []
    if any(cell_len(name) >= half for name in names):
        yield from (padded(name, width, "$primary bold") for name in names)
    elif names:
        left, right = (_turn(said, half - _GAP, min(height - 4, 13)) for said in (advice.left, advice.right))
        yield Content("").join([padded(name, half, "bold") for name in names])
        for row in range(max(len(left), len(right))):
            parts = (rows[row] if row < len(rows) else "" for rows in (left, right))
            yield Content("").join([padded(part, half, "$primary bold") for part in parts])
    yield from (plain(row) for row in under)


def _turn(said: str, width: int, height: int) -> tuple[str, ...]:
    """How far in one big line, and which way in another; one line where there is no way."""
    count, _, way = said.rpartition(" ")
    lines = (said,) if not count or way == "it" else (count, way)
    scales = [largest(line, width, max((height - 1) // 2, 3)) for line in lines]
    fit = [scale for scale in scales if scale is not None]
    return stacked(lines, min(fit)) if len(fit) == len(lines) else ()


# --- a pull in progress ---------------------------------------------------------------------------------------------


def _live(live: Live, width: int, height: int) -> Iterator[Content]:
    bar = () if live.bar is None or height < 6 else bar_rows(live.bar, width)
    yield padded(
        f"{safe_text(live.title)}   most so far {safe_text(live.held)} {safe_text(live.unit)}", width, "$quiet"
    )
    yield from _digits(live.text, live.unit, width, height - len(bar) - 2)
    yield padded(f" {live.word} ", width, f"{style_of(live.verdict)} reverse")
    for row in bar:
        yield padded(row, width)

"""The value in sight: big digits, its verdict as word and shape, its window as a bar; or two sides; or the advice."""

from collections.abc import Iterable, Iterator, Sequence

from rich.cells import cell_len
from textual.content import Content

from logger.job.line import role_of
from tui.glance.shown import Advice, Live, Pair, Shown, Value
from tui.look import style_of, verdict_word
from tui.safe import safe_text

from .bar import bar_rows
from .blocks import big, broken
from .pages import pages_of
from .painted import Painted, padded, plain, wrapped
from .turns import advice_rows, more_pages

_GAP = 2
_DIGITS = "$foreground bold"
_ROOMY = 20
"""Rows from which on the verdict is drawn big too."""
_BIG = 5
"""Rows of letters that can be read from two metres."""
_FEWEST = 3
"""Rows that the digits keep; what goes under them has the rest."""


class Sight(Painted):
    """What is in sight now; a pull in progress goes before everything else."""

    def __init__(self) -> None:
        super().__init__(id="sight")
        self._shown: Shown = None
        self._live: Live | None = None
        self._else: tuple[str, ...] = ()
        self._from = 0

    def show(self, shown: Shown, otherwise: tuple[str, ...]) -> None:
        """Show a value, a pair or the advice; or lines where there is none of them."""
        if (shown, otherwise, None) != (self._shown, self._else, self._live):
            self._shown, self._else, self._live, self._from = shown, otherwise, None, 0
            self.refresh()

    def pull(self, live: Live | None) -> None:
        """Show a pull in progress, or no longer."""
        if live != self._live:
            self._live = live
            self.refresh()

    def page(self, pages: int) -> None:
        """Show the lines that did not fit; of a value, in place of its digits, page by page."""
        match self._shown:
            case None:
                most = len(_aside_pages(self._else, *self.size)) - 1
            case Advice() as advice:
                most = more_pages(advice, *self.size)
            case value:
                most = _pages(value, *self.size)
        self._from = min(max(self._from + pages, 0), most)
        self.refresh()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint what is in sight, the more of it the more room there is."""
        if self._live is not None:
            return _live(self._live, width, height)
        match self._shown:
            case Value() | Pair() as value if self._from:
                return _page(value, width, height, self._from)
            case Value() as value:
                return _value(value, width, height)
            case Pair() as pair:
                return _pair(pair, width, height)
            case Advice() as advice:
                return advice_rows(advice, width, height, self._from)
            case None:
                return _aside(self._else, width, height, self._from)


def _aside(lines: tuple[str, ...], width: int, height: int, page: int) -> Iterator[Content]:
    """Paint a page of the lines, cautions with their mark; the first one big under them where room stays."""
    first, *rest = lines or ("",)
    under = [row for line in rest for row in _marked(line, width)]
    fits = height >= _ROOMY and role_of(first) != "caution"
    said = broken(safe_text(first), width, height - len(under) - 1) if fits else ()
    if len(said) >= _BIG:
        yield from (padded(row, width, "$quiet") for row in under)
        yield from (padded(row, width, _DIGITS) for row in ("", *said))
        return
    pages = _aside_pages(lines, width, height)
    yield from (padded(row, width, "$quiet") for row in pages[min(page, len(pages) - 1)])


def _aside_pages(lines: tuple[str, ...], width: int, height: int) -> list[list[str]]:
    return pages_of([row for line in lines for row in _marked(line, width)], width, height)


def _marked(line: str, width: int) -> list[str]:
    return wrapped(line.replace("Caution:", "!", 1) if role_of(line) == "caution" else line, width, "  ")


# --- one value ------------------------------------------------------------------------------------------------------


def _value(value: Value, width: int, height: int) -> Iterator[Content]:
    """Title, digits, verdict, bar and notes; in few rows the digits shrink first, and the verdict goes last."""
    if height < 4:
        yield from _in_few_rows(value, width, height)
        return
    strip, reason, rest = _strip(value, width)
    bar = () if value.bar is None or height < 6 else bar_rows(value.bar, width)
    room = max(height - len(bar) - 2 - _FEWEST, 0)
    under, notes, more = _both((reason, *rest[1:]), value.notes, width, room)
    word = _word(value.verdict.upper() if value.verdict else value.flag.lstrip("✕ "), width, height)
    room = height - len(bar) - len(under) - len(notes) - len(word) - 2
    yield _titled(_named(value, *rest[:1]), width, more=more)
    yield from _digits(value.text, value.unit, width, room)
    yield strip
    yield from (padded(row, width, style_of(value.verdict)) for row in word)
    yield from (padded(row, width) for row in (*under, *bar, *notes))


def _word(said: str, width: int, height: int) -> tuple[str, ...]:
    """A word in big letters with a row around it, where there is room for it beside big digits."""
    if height < _ROOMY or not said:
        return ()
    rows = big(said, width, 5 if height < 2 * _ROOMY else 10) or ()
    return ("", *rows, "") if rows else ()


def _said_of(shown: Value | Pair, width: int, *, titled: bool = False) -> list[str]:
    """All rows said of a value, or of the difference of two; `titled` leaves out what stands beside its title."""
    if isinstance(shown, Pair):
        return _rows((*_difference(shown.difference, width)[1], *shown.difference.notes), width)
    _, reason, rest = _strip(shown, width)
    return _rows((reason, *rest[1 if titled else 0 :], *shown.notes), width)


def _room(shown: Value | Pair, width: int, height: int) -> int:
    """The rows left for what is said beside digits and bar."""
    bar = (shown.difference if isinstance(shown, Pair) else shown).bar
    under = 0 if bar is None or height < (8 if isinstance(shown, Pair) else 6) else len(bar_rows(bar, width))
    return 0 if height < 4 else max(height - under - 2 - _FEWEST, 0)


def _pages(shown: Value | Pair, width: int, height: int) -> int:
    """How many pages of words a value has beside the first look at it; none where everything fits on that."""
    if len(_said_of(shown, width, titled=True)) <= _room(shown, width, height):
        return 0
    return len(pages_of(_said_of(shown, width), width, height - 1))


def _page(shown: Value | Pair, width: int, height: int, page: int) -> Iterator[Content]:
    """The verdict in one row, and under it as much as fits of what is said, the last row marked where more comes."""
    yield _difference(shown.difference, width)[0] if isinstance(shown, Pair) else _strip(shown, width)[0]
    pages = pages_of(_said_of(shown, width), width, height - 1)
    yield from (padded(row, width) for row in pages[min(page, len(pages)) - 1])


def _cut(rows: list[str], width: int, height: int) -> list[str]:
    """The rows that fit, the last marked where more do not."""
    return pages_of(rows, width, height)[0] if height > 0 else []


def _both(said: Sequence[str], notes: Sequence[str], width: int, height: int) -> tuple[list[str], list[str], bool]:
    """The rows of what stands over the bar, the notes under it that fit whole, and whether some were left out."""
    over, under = _cut(_rows(said, width), width, height), list[str]()
    for note in notes:
        rows = wrapped(note, width)
        if len(over) + len(under) + len(rows) > height:
            return over, under, True
        under += rows
    return over, under, height <= 0 and bool(_rows(said, width))


def _titled(title: str, width: int, *, more: bool) -> Content:
    """The row over the digits; that more is said on another page stands at its end."""
    hint = " PgDn" if more else ""
    return padded(title, width - len(hint), "$quiet") + plain(hint, "$quiet")


def _rows(lines: Sequence[str], width: int) -> list[str]:
    return [row for line in lines if line for row in wrapped(line, width)]


def _named(value: Value, *worth: str) -> str:
    """The value in one line: its number, what was expected of it, and last, since it may be cut, what it is of."""
    text = f"{value.text} {value.unit}".strip() if value.text else "no value yet"
    return "  ".join(safe_text(part) for part in (text, *worth, value.beside, value.title) if part)


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


def _strip(value: Value, width: int) -> tuple[Content, str, tuple[str, ...]]:
    """The verdict in one row that can be seen from afar, and what did not fit: its reason, and parts of its worth.

    Shape and word, a flag where there is one, then margin, uncertainty, chance and reason, as many as fit whole.
    """
    word = _flagged(value, value.flag)
    if cell_len(word) > width - 2:
        word = _flagged(value, value.flag.partition(":")[0])
    said, reason, rest = _filled(word, value.worth, value.reason, width - 2)
    style = f"{style_of(value.verdict)} reverse" if word else "bold"
    return padded(f" {said} ", width, style), reason, rest


def _flagged(value: Value, flag: str) -> str:
    return " · ".join(safe_text(part) for part in (verdict_word(value.verdict), flag) if part)


def _filled(word: str, worth: Sequence[str], reason: str, width: int) -> tuple[str, str, tuple[str, ...]]:
    """Put as many parts of the worth after a word as fit, and the reason too; return also what is left."""
    parts, taken = [safe_text(part) for part in worth], 0
    while taken < len(parts) and cell_len("   ".join(filter(None, (word, ", ".join(parts[: taken + 1]))))) <= width:
        taken += 1
    said = "   ".join(filter(None, (word, ", ".join(parts[:taken]))))
    whole = "   ".join(filter(None, (said, safe_text(reason))))
    if taken == len(parts) and cell_len(whole) <= width:
        return whole, "", ()
    return said, reason, tuple(parts[taken:])


# --- two sides ------------------------------------------------------------------------------------------------------


def _pair(pair: Pair, width: int, height: int) -> Iterator[Content]:
    """Both sides beside each other, and their difference under them."""
    half = width // 2
    strip, left_over = _difference(pair.difference, width)
    bar = () if pair.difference.bar is None or height < 8 else bar_rows(pair.difference.bar, width)
    room = max(height - len(bar) - 2 - _FEWEST, 0)
    more, notes, untold = _both(left_over, pair.difference.notes, width, room)
    under = (*more, *bar, *notes)
    word = _word(pair.difference.verdict.upper() if pair.difference.verdict else "", width, height)
    left, right = (_side(value, half - _GAP, height - len(under) - len(word) - 2) for value in pair.sides)
    hint = " PgDn" if untold else ""
    first, second = _titled_side(pair.sides[0], half - _GAP), _titled_side(pair.sides[1], width - half - len(hint))
    yield first + plain(" " * _GAP) + second + plain(hint, "$quiet")
    apart = any(each.text for each in pair.sides) and max(map(cell_len, left), default=0) < half - _GAP
    rule = plain("│ ", "$quiet") if apart else plain(" " * _GAP)
    for row in range(max(len(left), len(right))):
        yield _beside(left, row, half - _GAP) + rule + _beside(right, row, width - half)
    yield strip
    yield from (padded(row, width, style_of(pair.difference.verdict)) for row in word)
    yield from (padded(row, width) for row in under)


def _titled_side(value: Value, width: int) -> Content:
    """The place of a side with its value, and its own verdict where it has one to tell, by its shape in few cells."""
    place = safe_text(value.title.partition(": ")[0]).upper()
    text = f" {safe_text(value.text)} {safe_text(value.unit)}" if value.text else ""
    told = "" if value.verdict in (None, "inside") else f"  {verdict_word(value.verdict)}"
    return padded(f"{place}{text}{told if cell_len(place + text + told) <= width else told[:3]}", width)


def _side(value: Value, width: int, height: int) -> tuple[str, ...]:
    shown = safe_text(value.text) or "––"
    return big(shown, width, max(height, 1)) or (f"{shown} {safe_text(value.unit)}",)


def _beside(rows: tuple[str, ...], row: int, width: int) -> Content:
    return padded(rows[row] if row < len(rows) else "", width, _DIGITS)


def _difference(difference: Value, width: int) -> tuple[Content, tuple[str, ...]]:
    """The verdict on the difference in one row, and what did not fit: reason, worth, and what was expected of it."""
    what = f"{difference.title} {difference.text} {difference.unit}" if difference.text else ""
    told = "   ".join(safe_text(part) for part in (verdict_word(difference.verdict), what) if part)
    last, reason = (difference.beside, difference.reason) if difference.text else (difference.reason, "")
    said, left_over, rest = _filled(told, difference.worth, last, width - 2)
    short = rest[1:] if cell_len(", ".join(rest)) > width else rest  # the bar shows the margin
    left = tuple(filter(None, (reason, left_over, ", ".join(short))))
    return padded(f" {said} ", width, f"{style_of(difference.verdict)} reverse"), left


# --- a pull in progress ---------------------------------------------------------------------------------------------


def _live(live: Live, width: int, height: int) -> Iterator[Content]:
    bar = () if live.bar is None or height < 6 else bar_rows(live.bar, width)
    aim = "" if live.bar is None else live.bar.aim_text
    named = (f"most {live.held} {live.unit}", aim, live.title)
    yield padded("  ".join(safe_text(part) for part in named if part), width, "$quiet")
    word = _word(live.word.partition(":")[0][2:], width, height)
    yield from _digits(live.text, live.unit, width, height - len(bar) - len(word) - 2)
    yield padded(f" {live.word} ", width, f"{style_of(live.verdict)} reverse")
    yield from (padded(row, width, style_of(live.verdict)) for row in word)
    for row in bar:
        yield padded(row, width)

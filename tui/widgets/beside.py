"""Beside the replayed screen: verdicts recorded and worked out now, the pull, the adjustments, the comments."""

from collections.abc import Iterator, Sequence

from rich.cells import cell_len
from textual.content import Content

from logger import events as ev
from logger.job.verdictwords import SHAPES
from tui.look import style_of
from tui.replay.replaying import Beside
from tui.replay.turned import Turning
from tui.safe import cut, safe_text

from .painted import padded, plain, wrapped

_SHORT = 12
"""A longer value is left out, so that the name of its check can be read."""
DIFFERS = "≠"
"""Beside a verdict that is not the one recorded."""


def verdict_rows(checks: Sequence[Beside], prompt: str, width: int, height: int) -> Iterator[Content]:
    """Paint every check, those that differ first and in both verdicts; then what was asked, where that differs too."""
    differ = [each for each in checks if each.differs]
    told = f"{len(differ)} differ" if differ else "another prompt"
    count = f"{DIFFERS} {told}" if differ or prompt else "all as recorded"
    yield padded(f"VERDICTS  {count}", width, "$off bold reverse" if differ or prompt else "bold")
    rows = [row for each in differ for row in _differing(each, width)]
    if prompt:
        rows.append(padded(f"{DIFFERS} the prompt was {safe_text(prompt)}", width, "$off bold"))
    rows += [_same(each, width) for each in checks if not each.differs]
    room = height - 1
    if len(rows) > room > 0:
        rows = [*rows[: room - 1], padded(f"  ↓ {len(rows) - room + 1} more", width, "$quiet")]
    yield from rows


def _differing(each: Beside, width: int) -> tuple[Content, Content]:
    place = f", {safe_text(each.place)}" if each.place else ""
    name = padded(
        f"{DIFFERS} {cut(safe_text(each.title), max(width - cell_len(place) - 2, 4))}{place}", width, "$off bold"
    )
    return name, padded(f"  was {_word(each.then)}, now {_word(each.now)}", width, "$off bold")


def _word(verdict: ev.Verdict | None) -> str:
    return "no check" if verdict is None else f"{SHAPES[verdict]} {verdict}"


def _same(each: Beside, width: int) -> Content:
    head = f"{_word(each.now):<12} "
    value = f" {safe_text(each.value)}" if width > 45 and 0 < cell_len(each.value) <= _SHORT else ""
    place = f", {safe_text(each.place)}" if each.place else ""
    room = max(width - cell_len(head) - cell_len(place) - cell_len(value), 0)
    name = f"{cut(safe_text(each.title), room)}{place}"
    rest = padded(name, max(width - cell_len(head) - cell_len(value), 0))
    return plain(head, style_of(each.now)) + rest + plain(value)


def turning_rows(turnings: Sequence[Turning], width: int, height: int) -> Iterator[Content]:
    """Paint each adjustment, the last ones where not all fit: expected, measured, and how that fits."""
    title = padded("ADJUSTMENTS", width, "bold")
    rows = [row for turning in turnings for row in _turning(turning, width)] or [padded("None yet", width, "$quiet")]
    yield from rows[-max(height, 1) :] if len(rows) >= height else (title, *rows)


def _turning(turning: Turning, width: int) -> Iterator[Content]:
    yield from (padded(row, width, "$primary bold") for row in wrapped(turning.title, width, "   "))
    for name, expected, measured, fits in turning.figures:
        style = "" if fits.startswith("■") or not fits else "$off bold"
        seen = f"measured {measured}" if measured else "not measured yet"
        whole = f"{name}: expected {expected}, {seen}  {fits}".rstrip()
        yield from (padded(row, width, style) for row in wrapped(f"  {whole}", width, "    "))


def comment_rows(comments: Sequence[tuple[ev.Commented, str]], width: int, height: int) -> Iterator[Content]:
    """Paint each comment with who made it, when and on which event; a sign-off stands out."""
    signed = sum(event.signs for event, _ in comments)
    yield padded(f"COMMENTS  {len(comments)}, {signed} signed off", width, "bold")
    rows = [row for event, when in comments for row in _comment(event, when, width)]
    yield from rows[-max(height - 1, 1) :]


def _comment(event: ev.Commented, when: str, width: int) -> Iterator[Content]:
    what = "✓ signed off" if event.signs else f"¶ on no. {event.at}"
    yield padded(f"{what}  {safe_text(event.name)}  {when}", width, "$let bold" if event.signs else "$primary bold")
    yield from (padded(row, width) for row in wrapped(f"  {event.text}", width, "  "))

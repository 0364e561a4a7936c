"""Rows parted into pages, each marked where more comes; pure."""

from collections.abc import Sequence

from rich.cells import cell_len

from .painted import fitting

Row = tuple[str, str]
"""The text of a row, and its style."""

MORE = " … PgDn"
"""What ends a page after which more comes."""


def paged(rows: Sequence[Row], width: int, height: int) -> list[list[Row]]:
    """Part rows into pages of so many, at least one; the last row of each but the last is marked.

    A row gives way to the mark between words, and what it held there begins the next page, so that nothing is lost.
    """
    height, rest, pages = max(height, 1), list(rows), list[list[Row]]()
    while len(rest) > height:
        text, style = rest[height - 1]
        head, tail = _parted(text, width - cell_len(MORE))
        pages.append([*rest[: height - 1], (f"{head}{MORE}", style)])
        rest = [*([(tail, style)] if tail else ()), *rest[height:]]
    return [*pages, rest]


def _parted(text: str, width: int) -> tuple[str, str]:
    """What of a row fits so many cells, and the rest; a word that is too wide by itself is broken."""
    if width < 1 or cell_len(text) <= width:
        return text, ""
    size = fitting(text, width)
    between = text.rfind(" ", 0, size + 1)
    at = between if text[: max(between, 0)].strip() else size
    return text[:at].rstrip(), text[at:].lstrip()


def pages_of(rows: Sequence[str], width: int, height: int) -> list[list[str]]:
    """Part rows of one style into pages."""
    return [[row for row, _ in page] for page in paged([(row, "") for row in rows], width, height)]

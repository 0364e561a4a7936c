"""The one door through which outside text reaches a terminal: names, notes, sheets, tool and broker messages.

Whatever could move the cursor, hide, reorder or imitate is replaced by a tag that can be seen; nothing is ever
read as markup. The screen library is imported only by `safe`, and that which tells widths only by `cut`, so that a
command without a screen does not wait for them.
"""

import unicodedata

TYPE_CHECKING = False
if TYPE_CHECKING:
    from textual.content import Content

MARKS_KEPT = 3
"""Combining marks that may stand on one character; more are a way of drawing over neighbouring lines."""

_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
"""Controls, formats, surrogates, private use, unassigned, line and paragraph separators."""
_BLANK = {0x034F, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x2800, 0x3164, 0xFFA0}
"""Characters of a harmless category that draw nothing."""


def safe_text(text: str, cells: int | None = None) -> str:
    """Return outside text with everything that cannot be seen made visible, cut to so many cells."""
    whole = text if text.isascii() and text.isprintable() else _seen(text)
    return whole if cells is None else cut(whole, cells)


def _seen(text: str) -> str:
    shown: list[str] = []
    marks = 0
    for character in text:
        if unicodedata.combining(character) or unicodedata.category(character) in {"Mn", "Me"}:
            marks += 1
            if marks > MARKS_KEPT:
                continue
        else:
            marks = 0
        shown.append(_visible(character))
    return "".join(shown)


def safe(text: str, cells: int | None = None) -> "Content":
    """Return outside text as content for a widget; no markup is read from it."""
    from textual.content import Content  # noqa: PLC0415  (late on purpose: see the module's first lines)

    return Content(safe_text(text, cells))


def _visible(character: str) -> str:
    code = ord(character)
    if code < 0x20:
        return chr(0x2400 + code)
    if code == 0x7F:
        return "\u2421"
    if unicodedata.category(character) in _HIDDEN or code in _BLANK:
        return f"⟨U+{code:04X}⟩"
    return character


def cut(text: str, cells: int) -> str:
    """Return text of at most so many cells; what is cut is marked with an ellipsis."""
    from rich.cells import cell_len  # noqa: PLC0415  (late on purpose: see the module's first lines)

    if cell_len(text) <= cells:
        return text
    if cells < 1:
        return ""
    kept, room = [], cells - 1
    for character in text:
        room -= cell_len(character)
        if room < 0:
            break
        kept.append(character)
    return "".join(kept) + "…"

"""The themes, and which of them suits a terminal; blue and orange, since red and green look alike to many."""

from collections.abc import Mapping

from textual.theme import Theme

from logger import events as ev
from logger.job.rules import FAILS, PASSES

DARK = Theme(
    name="evenhand-dark",
    primary="#7cc4ff",
    secondary="#b9c2cd",
    accent="#7cc4ff",
    warning="#ffb347",
    error="#ffb347",
    success="#7cc4ff",
    foreground="#f4f3ec",
    background="#0f1318",
    surface="#0f1318",
    panel="#232a33",
    dark=True,
    text_alpha=1.0,
    variables={"ok": "#7cc4ff", "off": "#ffb347", "pending": "#e2dcae", "let": "#e4b8ff", "quiet": "#b9c2cd"},
)
LIGHT = Theme(
    name="evenhand-light",
    primary="#004a86",
    secondary="#454c55",
    accent="#004a86",
    warning="#8a3a00",
    error="#8a3a00",
    success="#004a86",
    foreground="#14181d",
    background="#fbfaf5",
    surface="#fbfaf5",
    panel="#eeeeee",
    dark=False,
    text_alpha=1.0,
    variables={"ok": "#004a86", "off": "#8a3a00", "pending": "#574e14", "let": "#64257f", "quiet": "#454c55"},
)


DARK_16 = Theme(
    name="evenhand-dark-16",
    primary="#55ffff",
    secondary="#ffffff",
    accent="#55ffff",
    warning="#ffff55",
    error="#ffff55",
    success="#55ffff",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#000000",
    dark=True,
    text_alpha=1.0,
    variables={"ok": "#55ffff", "off": "#ffff55", "pending": "#ffffff", "let": "#ff55ff", "quiet": "#ffffff"},
)
LIGHT_16 = Theme(
    name="evenhand-light-16",
    primary="#0000aa",
    secondary="#000000",
    accent="#0000aa",
    warning="#aa0000",
    error="#aa0000",
    success="#0000aa",
    foreground="#000000",
    background="#ffffff",
    surface="#ffffff",
    panel="#ffffff",
    dark=False,
    text_alpha=1.0,
    variables={"ok": "#0000aa", "off": "#aa0000", "pending": "#000000", "let": "#000000", "quiet": "#000000"},
)
"""For a terminal of 16 colours: each is one of them, so that none is taken for its nearest."""

THEMES = (DARK, LIGHT, DARK_16, LIGHT_16)
_MANY = ("256color", "kitty", "direct", "truecolor")


def theme_for(environment: Mapping[str, str]) -> str:
    """Return the theme for a terminal: light where COLORFGBG says that its background is (7 and 15), else dark.

    Where neither COLORTERM nor TERM tells of more than 16 colours, the one that is made of those.
    """
    light = environment.get("COLORFGBG", "").rpartition(";")[2] in ("7", "15")
    told = environment.get("COLORTERM", "").strip().lower() in ("truecolor", "24bit")
    if told or environment.get("TERM", "").rpartition("-")[2] in _MANY or not environment.get("TERM"):
        return LIGHT.name if light else DARK.name
    return LIGHT_16.name if light else DARK_16.name


def style_of(verdict: ev.Verdict | None) -> str:
    """Return the style of a verdict; colour only helps, its word and shape tell it."""
    if verdict is None:
        return "$foreground bold"
    if verdict == "overridden":
        return "$let bold"
    if verdict in PASSES:
        return "$ok bold"
    return "$off bold" if verdict in FAILS else "$pending bold"

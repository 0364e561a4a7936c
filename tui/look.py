"""The two themes, and which of them suits a terminal; blue and orange, since red and green look alike to many."""

from collections.abc import Mapping

from textual.theme import Theme

from logger import events as ev
from logger.rules import FAILS, PASSES

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
    panel="#e6e2d6",
    dark=False,
    text_alpha=1.0,
    variables={"ok": "#004a86", "off": "#8a3a00", "pending": "#574e14", "let": "#64257f", "quiet": "#454c55"},
)


def theme_for(environment: Mapping[str, str]) -> str:
    """Return the theme for a terminal: light where COLORFGBG says that its background is (7 and 15), else dark."""
    ground = environment.get("COLORFGBG", "").rpartition(";")[2]
    return LIGHT.name if ground in ("7", "15") else DARK.name


def style_of(verdict: ev.Verdict | None) -> str:
    """Return the style of a verdict; colour only helps, its word and shape tell it."""
    if verdict is None:
        return "$foreground bold"
    if verdict == "overridden":
        return "$let bold"
    if verdict in PASSES:
        return "$ok bold"
    return "$off bold" if verdict in FAILS else "$pending bold"

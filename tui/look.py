"""The themes, which of them suits a terminal, and how a verdict looks; blue and orange, as red and green look alike."""

from collections.abc import Mapping

from textual.theme import Theme

from logger import events as ev
from logger.job.rules import FAILS, PASSES
from logger.job.verdictwords import SHAPES


def _theme(name: str, ground: tuple[str, str], ink: str, colours: str, *, dark: bool) -> Theme:
    """Return a theme: the background and what lies on it, the text, and the colours of `_SAYS` in their order."""
    background, panel = ground
    said = dict(zip(_SAYS, colours.split(), strict=True))
    return Theme(
        name=name,
        primary=said["ok"],
        secondary=said["quiet"],
        accent=said["ok"],
        warning=said["off"],
        error=said["off"],
        success=said["ok"],
        foreground=ink,
        background=background,
        surface=background,
        panel=panel,
        dark=dark,
        text_alpha=1.0,
        variables=said,
    )


_SAYS = ("ok", "off", "pending", "let", "quiet")
"""What a colour says: it passes, it fails, it is not told yet, it was let pass; and what is said in a low voice."""

DARK = _theme("evenhand-dark", ("#0f1318", "#232a33"), "#f4f3ec", "#7cc4ff #ffb347 #e2dcae #e4b8ff #b9c2cd", dark=True)
LIGHT = _theme(
    "evenhand-light", ("#fbfaf5", "#eeeeee"), "#14181d", "#004a86 #8a3a00 #574e14 #64257f #454c55", dark=False
)
DARK_16 = _theme(
    "evenhand-dark-16", ("#000000", "#000000"), "#ffffff", "#55ffff #ffff55 #ffffff #ff55ff #ffffff", dark=True
)
LIGHT_16 = _theme(
    "evenhand-light-16", ("#ffffff", "#ffffff"), "#000000", "#0000aa #aa0000 #000000 #000000 #000000", dark=False
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


def verdict_word(verdict: ev.Verdict | None) -> str:
    """Return a verdict as shape and word; empty where there is none."""
    return "" if verdict is None else f"{SHAPES[verdict]} {verdict.upper()}"

"""Everything can be read: contrast of every colour that text is drawn in, with and without NO_COLOR.

The bound is the contrast ratio of WCAG 2 (1.4.3, level AA: 4.5 for text of any size).
"""

import itertools
import re
from pathlib import Path
from typing import get_args

import pytest
from rich.color import Color as RichColor
from rich.color import ColorSystem
from rich.style import Style
from textual.color import Color
from textual.filter import monochrome_style
from textual.theme import Theme

from logger import events as ev
from logger.job.verdictwords import SHAPES
from tui import look
from tui.look import DARK, DARK_16, LIGHT, LIGHT_16, style_of, theme_for

_GROUNDS = ("background", "panel")
_SYSTEMS = {
    ColorSystem.TRUECOLOR: (DARK, LIGHT),
    ColorSystem.EIGHT_BIT: (DARK, LIGHT),
    ColorSystem.STANDARD: (DARK_16, LIGHT_16),
}
"""Which themes a terminal of so many colours is given."""


def _used() -> set[str]:
    """Every colour that a style in the sources or in the style sheet names."""
    root = Path(look.__file__).parent
    drawn = (*root.glob("widgets/*.py"), *root.glob("screens/*.py"), root / "look.py", *root.glob("apps/*.tcss"))
    texts = [path.read_text(encoding="utf-8") for path in drawn]
    return {name for text in texts for name in re.findall(r"\$([a-z]+)", text)}


def _colour(theme: Theme, name: str) -> str:
    return theme.variables[name] if name in theme.variables else str(getattr(theme, name))


def _shown(colour: str, system: ColorSystem, *, no_color: bool) -> Color:
    """The colour that a terminal of so many colours shows; NO_COLOR makes it grey first."""
    style = Style.from_color(RichColor.parse(colour))
    made = monochrome_style(style).color if no_color else style.color
    assert made is not None
    return Color(*made.downgrade(system).get_truecolor())


def _luminance(colour: Color) -> float:
    parts = (part / 255 for part in (colour.r, colour.g, colour.b))
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: Color, other: Color) -> float:
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize("no_color", [False, True], ids=["colour", "NO_COLOR"])
@pytest.mark.parametrize(
    ("system", "theme"),
    [(system, theme) for system, themes in _SYSTEMS.items() for theme in themes],
    ids=lambda value: getattr(value, "name", ""),
)
def test_every_style_has_contrast_on_every_ground(system: ColorSystem, theme: Theme, no_color: bool) -> None:
    for ink, ground in itertools.product(_used() - set(_GROUNDS), _GROUNDS):
        pair = (_shown(_colour(theme, name), system, no_color=no_color) for name in (ink, ground))
        ratio = _contrast(*pair)
        assert ratio >= 4.5, f"${ink} on ${ground} of {theme.name}: {ratio:.2f}"


def test_the_colours_that_are_used_are_those_that_are_looked_at() -> None:
    assert _used() == {"background", "panel", "foreground", "primary", "ok", "off", "pending", "let", "quiet"}


def test_no_verdict_is_told_by_colour_alone() -> None:
    assert len(set(SHAPES.values())) == len(SHAPES) == len(get_args(ev.Verdict))


@pytest.mark.parametrize(
    ("verdict", "ink"),
    [("inside", "$ok"), ("done", "$ok"), ("high", "$off"), ("uneven", "$off"), ("stale", "$pending")],
)
def test_verdicts_that_pass_fail_and_wait_differ(verdict: ev.Verdict, ink: str) -> None:
    assert style_of(verdict).startswith(ink)


@pytest.mark.parametrize(
    ("ground", "name"),
    [
        ({"COLORFGBG": "0;15"}, LIGHT.name),
        ({"COLORFGBG": "15;0"}, DARK.name),
        ({}, DARK.name),
        ({"TERM": "xterm-256color"}, DARK.name),
        ({"TERM": "linux"}, DARK_16.name),
        ({"TERM": "xterm", "COLORFGBG": "0;15"}, LIGHT_16.name),
        ({"TERM": "xterm", "COLORTERM": "truecolor"}, DARK.name),
    ],
)
def test_the_theme_suits_the_terminal(ground: dict[str, str], name: str) -> None:
    assert theme_for(ground) == name

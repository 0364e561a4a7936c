"""Everything can be read: contrast of every colour that text is drawn in, with and without NO_COLOR.

The bound is the contrast ratio of WCAG 2 (1.4.3, level AA: 4.5 for text of any size).
"""

import itertools
from typing import get_args

import pytest
from rich.color import Color as RichColor
from rich.style import Style
from textual.color import Color
from textual.filter import monochrome_style
from textual.theme import Theme

from logger import events as ev
from logger.words import SHAPES
from tui.look import DARK, LIGHT, style_of, theme_for

_INKS = ("ok", "off", "pending", "let", "quiet")


def _inks(theme: Theme) -> dict[str, str]:
    inks = {name: theme.variables[name] for name in _INKS}
    return inks | {"foreground": str(theme.foreground), "primary": theme.primary}


def _grey(colour: str) -> Color:
    style = monochrome_style(Style.from_color(RichColor.parse(colour)))
    assert style.color is not None
    return Color.from_rich_color(style.color)


def _luminance(colour: Color) -> float:
    parts = (part / 255 for part in (colour.r, colour.g, colour.b))
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: Color, other: Color) -> float:
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize("no_color", [False, True])
@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=lambda theme: theme.name)
def test_every_ink_has_contrast_on_every_ground(theme: Theme, no_color: bool) -> None:
    grounds = {"background": str(theme.background), "panel": str(theme.panel)}
    for (ink, colour), (ground, below) in itertools.product(_inks(theme).items(), grounds.items()):
        pair = (_grey(colour), _grey(below)) if no_color else (Color.parse(colour), Color.parse(below))
        ratio = _contrast(*pair)
        assert ratio >= 4.5, f"{ink} on {ground} of {theme.name}: {ratio:.2f}"


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
    [({"COLORFGBG": "0;15"}, LIGHT.name), ({"COLORFGBG": "15;0"}, DARK.name), ({}, DARK.name)],
)
def test_the_theme_suits_the_terminal(ground: dict[str, str], name: str) -> None:
    assert theme_for(ground) == name

"""What all apps share, and that all of them do."""

import ast
from pathlib import Path

import pytest

import tui
from tui.apps.ourapp import OurApp
from tui.look import DARK, DARK_16, LIGHT_16, THEMES


@pytest.mark.parametrize(
    ("environment", "theme"),
    [
        ({"TERM": "xterm-256color"}, DARK.name),
        ({"TERM": "xterm"}, DARK_16.name),
        ({"TERM": "linux", "COLORFGBG": "0;15"}, LIGHT_16.name),
    ],
)
def test_an_app_is_in_the_theme_of_its_terminal(environment: dict[str, str], theme: str) -> None:
    app: OurApp[None] = OurApp(environment)
    assert app.theme == theme
    assert {each.name for each in THEMES} <= set(app.available_themes)


def test_every_app_is_one_of_ours() -> None:
    root = Path(tui.__file__).parent
    bases = {
        f"{path.relative_to(root)}: {ast.unparse(base)}"
        for path in root.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ClassDef)
        for base in node.bases
        if ast.unparse(base).startswith("App[")
    }
    assert bases == {"apps/ourapp.py: App[ReturnType]"}

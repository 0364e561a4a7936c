"""Files, environment variables and keys of the keyboard that README names are those of the program, and the reverse."""

import ast
import importlib
import pkgutil
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from textual.app import App
from textual.binding import Binding
from textual.screen import Screen

import tui.screens
from logger.settings.settings import HOME_VARIABLE, Home
from tui.apps.shopwatch import ShopWatch
from tui.entry.actions import ALL, LEAVE, LEAVING
from tui.screens.commenting import CommentDialog
from tui.screens.replay import ReplayScreen

from .played import WHOLE
from .readme import README, ROOT, rows, section, spans
from .readme_run import Program

PACKAGES = ("logger", "drivers", "tui", "simulators")
KEYS_NAMED = {
    "pageup": "PageUp",
    "pagedown": "PageDown",
    "escape": "Esc",
    "home": "Home",
    "end": "End",
    "space": "space",
    "up": "↑",
    "down": "↓",
    "left": "←",
    "right": "→",
    "ctrl+c": "Ctrl+C",
    "ctrl+q": "Ctrl+Q",
}
NOT_FOR_A_PERSON = {
    "COLUMNS": "set by shells; the width of --help follows it as everywhere",
    "BLEAK_DBUS_AUTH_UID": "of the radio library",
    "BUS": "the D-Bus specification's own variable, for whoever runs the bus elsewhere",
}


def literals() -> Iterator[str]:
    """Every text in the packages' code."""
    for package in PACKAGES:
        for path in (ROOT / package).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    yield node.value


TEXTS = frozenset(literals())


# --- files ----------------------------------------------------------------------------------------------------------


def files_told() -> set[str]:
    return {
        name for first, second, _ in rows(section("### The home folder")) for name in [*spans(first), *spans(second)]
    }


def told_of(name: str, told: Iterable[str]) -> bool:
    return any(re.fullmatch(re.escape(each).replace(r"\*", ".*"), name) for each in told)


def test_every_file_of_the_home_is_told() -> None:
    told, home = files_told(), Home(Path("/home"))
    places = [getattr(home, name) for name, each in vars(Home).items() if isinstance(each, property)]
    assert len(places) > 5
    named = {each.name for each in (*places, home.crash_file("20260105"))}
    named |= {text for text in TEXTS if re.fullmatch(r"[a-z-]+\.(toml|sqlite|json|log|key)", text)}
    assert {name for name in named if not told_of(name, told)} == set()


def test_every_file_told_is_one_of_the_home() -> None:
    kept_by_the_database = {"trail.sqlite-wal", "trail.sqlite-shm"}
    for name in files_told() - kept_by_the_database - {"evenhand trail backup"}:
        whole, ending = name in TEXTS, re.sub(r"^(trail\.sqlite|toolbook\.toml)", "", name)
        assert whole or ending in TEXTS or name == "crash-*.txt", name


def test_what_a_job_leaves_in_the_home_is_told(own_home: Path) -> None:
    program = Program(own_home.parent)
    program.here("evenhand tools add --by Robin --hand caliper")
    program.shell('evenhand start courier-chain --machine "Depot 7" --by Robin --plain --no-radio', "\n".join(WHOLE))
    program.here("evenhand jobs")
    program.here("evenhand trail backup")
    found = {path.name for path in own_home.iterdir()}
    assert {"trail.sqlite", "toolbook.toml", "bench.key", "trail-backup.sqlite", "trail.sqlite.index"} <= found
    assert {name for name in found if not told_of(name, files_told())} == set()


# --- the environment ------------------------------------------------------------------------------------------------


def variables_read() -> set[str]:
    """Names of the variables that the code asks of an environment."""
    asked = re.compile(r"environ(?:ment)?\)?\.get\(\s*\"?([A-Z_]+)\"?")
    return {
        name
        for package in PACKAGES
        for path in (ROOT / package).rglob("*.py")
        for name in asked.findall(path.read_text(encoding="utf-8"))
    }


def test_environment_variables_are_all_there_and_the_reverse() -> None:
    text = section("### The home folder")
    told = {span for span in spans(text) if re.fullmatch(r"[A-Z][A-Z_]{3,}", span)}
    read = {HOME_VARIABLE if name == "HOME_VARIABLE" else name for name in variables_read()}
    assert read - set(NOT_FOR_A_PERSON) == told - {"NO_COLOR"}
    assert "NO_COLOR" in told  # the screen library heeds it
    assert set(re.findall(r"EVENHAND_[A-Z_]+", README)) == {
        name for text in TEXTS for name in re.findall(r"EVENHAND_[A-Z_]+", text)
    }


# --- keys -----------------------------------------------------------------------------------------------------------


def bindings(screens: Iterable[type[Screen[Any]] | type[App[Any]]]) -> set[str]:
    """The keys of some screens, as README names them."""
    keys = {each.key for one in screens for each in one.BINDINGS if isinstance(each, Binding)}
    return {named(key) for key in keys}


def named(key: str) -> str:
    return KEYS_NAMED.get(key) or key.upper()


def keys_told(heading: str) -> set[str]:
    cells = " ".join(f"{key} {meaning if 'Ctrl' in meaning else ''}" for key, meaning in rows(section(heading)))
    known = "|".join(map(re.escape, KEYS_NAMED.values()))
    return set(re.findall(rf"\bF[0-9]+\b|{known}", re.sub(r"`[^`]*`", "", cells)))


def every_screen() -> set[type[Screen[Any]]]:
    found: set[type[Screen[Any]]] = set()
    for module in pkgutil.iter_modules(tui.screens.__path__):
        for each in vars(importlib.import_module(f"tui.screens.{module.name}")).values():
            if isinstance(each, type) and issubclass(each, Screen) and each.__module__.startswith("tui."):
                found.add(each)
    return found


REPLAY: set[type[Screen[Any]]] = {ReplayScreen, CommentDialog}


def test_keys_of_a_job_are_all_there_and_the_reverse() -> None:
    known = bindings(every_screen() - REPLAY) | {named(action.key) for action in ALL}
    assert keys_told("## A job by hand") == known | {"Ctrl+C", "Ctrl+Q"}


def test_keys_of_a_replay_are_all_there_and_the_reverse() -> None:
    told = keys_told("## Looking at a job again")
    assert told == bindings(REPLAY) | {named(key) for key in LEAVING}


def test_the_key_of_the_shop_is_the_one_that_leaves_everywhere() -> None:
    assert bindings([ShopWatch]) == {named(LEAVE.key)}

"""DEVELOPERS.md speaks of what is there: every file, room, test and module that it names exists."""

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
TOPS = ("logger", "drivers", "tui", "simulators", "tests")
SOURCES = [path.relative_to(ROOT) for top in TOPS for path in (ROOT / top).rglob("*.py")]


def test_every_file_named_is_there() -> None:
    named = set(re.findall(r"\b(?:[a-z_]+/)*[a-z_]+\.(?:py|sh)\b", PAGE))
    assert len(named) > 80
    there = {str(path) for path in SOURCES} | {str(path.relative_to(ROOT)) for path in (ROOT / "tests").rglob("*.sh")}
    assert {name for name in named if not any(f"/{path}".endswith(f"/{name}") for path in there)} == set()


def test_every_room_named_is_there() -> None:
    named = set(re.findall(rf"`((?:{'|'.join(TOPS)})/(?:[a-z_]+/)*)`", PAGE))
    assert len(named) > 4
    assert {name for name in named if not (ROOT / name).is_dir()} == set()


@pytest.mark.parametrize("package", ["logger", "drivers", "tui"])
def test_every_room_is_on_the_map(package: str) -> None:
    shape = PAGE[: PAGE.index("## One reading's way")]
    rooms = {path.parent.name for path in (ROOT / package).glob("*/__init__.py")}
    assert {room for room in rooms if not re.search(rf"\b{room}\b", shape)} == set()


def test_every_module_run_by_name_is_there() -> None:
    named = set(re.findall(r"python -m ((?:tests|simulators)[a-z_.]*)", PAGE))
    assert len(named) > 8
    paths = {name: ROOT / name.replace(".", "/") for name in named}
    assert {name for name, path in paths.items() if not (path.with_suffix(".py").exists() or path.is_dir())} == set()


def test_every_test_named_is_there() -> None:
    named = set(re.findall(r"pytest (tests/[a-z_/.]+)", PAGE))
    assert {name for name in named if not (ROOT / name).exists()} == set()


@pytest.mark.parametrize(("package", "top"), [("logger", "collector"), ("drivers", "radio"), ("tui", "cli")])
def test_the_arrows_drawn_are_the_contract(package: str, top: str) -> None:
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"][
        "contracts"
    ]
    layers = next(contract["layers"] for contract in contracts if contract.get("containers") == [package])
    drawn = re.search(rf"```\n({top} .*?)```", PAGE, re.DOTALL)
    assert drawn is not None
    assert [re.split(r" {2,}", line)[0] for line in drawn.group(1).splitlines()] == layers

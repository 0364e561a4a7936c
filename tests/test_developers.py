"""DEVELOPERS.md speaks of what is there: every file, room, test and module that it names exists."""

import re
import tomllib
from collections.abc import Iterator
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


def items(cell: str) -> list[str]:
    """The files in the first cell of a row; a room in bold only says where they are."""
    return re.findall(r"`([^`]+)`", re.sub(r"\*\*`[^`]+/`\*\*", "", cell))


def file_rows() -> Iterator[tuple[str, str, str]]:
    """Each row of the page that lists modules: the folder that its names are in, the names, what is said of them."""
    folder = ""
    for line in PAGE.splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if not line.startswith("|") or len(cells) != 2:
            folder = ""
        elif room := re.match(r"(?:in |\*\*)?`([a-z_/]+/)`", cells[0]):  # of a whole table, or from this row on
            folder = room.group(1)
        if line.startswith("|") and ".py`" in cells[0]:
            yield folder, cells[0], cells[1]


def modules_named() -> set[str]:
    """The modules that the page names in their room, as paths: in a row of a table, or anywhere by their whole path."""
    named = set(re.findall(r"\b(?:[a-z_]+/)+[a-z_]+\.py\b", PAGE))
    for room, first, _ in file_rows():
        folder = room
        for name in (each for each in items(first) if each.endswith(".py")):
            before, _, last = name.rpartition("/")
            folder = f"{before}/" if before else folder
            named |= {f"{folder}{last}", f"logger/{folder}{last}"}
    return named


def test_every_module_of_the_product_is_named_in_its_room() -> None:
    modules = {str(path) for path in SOURCES if path.parts[0] != "tests" and not path.name.startswith("__")}
    assert modules - modules_named() == set()


def test_each_file_of_a_row_is_told_by_itself() -> None:
    listed = list(file_rows())
    assert len(listed) > 60
    uneven = [first for _, first, second in listed if len(items(first)) != len(second.split("; "))]
    assert uneven == []


def test_the_rooms_without_a_main_file_are_those_named() -> None:
    told = PAGE[PAGE.index("These have\nnone: ") : PAGE.index("Arrows point down here too")]
    rooms = {init.parent for top in TOPS[:3] for init in (ROOT / top).glob("*/__init__.py")}
    without = {room.name for room in rooms if not (room / f"{room.name}.py").exists()}
    assert set(re.findall(r"`([a-z]+)`", told)) == without

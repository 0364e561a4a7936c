"""Who may import what: the radio library is known to a few files, and clients are made from devices only."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import drivers

SOURCES = sorted(Path(drivers.__file__).parent.rglob("*.py"))


def imported(path: Path) -> set[str]:
    nodes = list(ast.walk(ast.parse(path.read_text())))
    names = {a.name for n in nodes if isinstance(n, ast.Import) for a in n.names}
    names |= {n.module or "" for n in nodes if isinstance(n, ast.ImportFrom) and n.level == 0}
    return {name.partition(".")[0] for name in names}


def test_only_what_is_named_ble_imports_bleak() -> None:
    assert {p.name for p in SOURCES if "bleak" in imported(p)} == {p.name for p in SOURCES if p.name.startswith("ble")}


@pytest.mark.parametrize("module", ["logger", "simulators", "tui"])
def test_drivers_know_nothing_of_the_other_rooms(module: str) -> None:
    assert [p.name for p in SOURCES if module in imported(p)] == []


def test_decoding_loads_no_radio_library() -> None:
    code = "import sys, drivers.decode.decode, drivers.typed, drivers.radio.line; sys.exit('bleak' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_a_client_is_only_ever_made_from_a_device() -> None:
    tree = ast.parse((Path(drivers.__file__).parent / "radio" / "blepeer.py").read_text())
    made = [n for n in ast.walk(tree) if isinstance(n, ast.Call) and ast.unparse(n.func) == "BleakClient"]
    assert [ast.unparse(call.args[0]) for call in made] == ["device"]

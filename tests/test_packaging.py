"""The shape of the house: four packages with everyday names, owned by nobody else, and an entry that stays light."""

import subprocess
import sys
from importlib.metadata import distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
OURS = {"drivers", "logger", "simulators", "tui"}


def test_nothing_else_stands_at_the_top() -> None:
    allowed = OURS | {"tests", "README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "CHANGELOG.md"}
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True).stdout.splitlines()
    top = {name.split("/")[0] for name in tracked}
    assert {name for name in top if not name.startswith(".")} <= allowed


def test_no_installed_distribution_owns_one_of_our_names() -> None:
    for distribution in distributions():
        if distribution.metadata["Name"] == "evenhand":
            continue
        tops = {str(file).split("/")[0] for file in distribution.files or ()}
        assert not tops & OURS, distribution.metadata["Name"]


@pytest.mark.parametrize("args", [["--help"], ["start", "--help"], ["demo", "--help"], ["tools", "--help"]])
def test_help_imports_nothing_heavy(args: list[str]) -> None:
    code = (
        "import sys\nfrom tui.cli import main\n"
        f"try:\n    main({args!r})\nexcept SystemExit:\n    pass\n"
        "heavy = {'textual', 'bleak', 'pydantic', 'pint'} & set(sys.modules)\nprint('heavy:', sorted(heavy))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.endswith("heavy: []\n")


@pytest.mark.parametrize(
    ("module", "banned"),
    [
        ("logger.job.rules", {"textual", "bleak", "asyncio", "sqlite3"}),
        ("logger.bench.bench", {"textual", "bleak", "simulators", "tui"}),
        ("drivers.radio.ble", {"textual", "logger", "simulators", "tui", "pint"}),
        ("simulators.demo", {"textual", "tui"}),
        ("tui.commands.work", {"aiomqtt", "sqlalchemy", "textual"}),
    ],
)
def test_what_a_room_never_loads(module: str, banned: set[str]) -> None:
    code = f"import sys\nimport {module}\nprint(*sorted({banned!r} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


def test_every_requested_library_is_declared() -> None:
    declared = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    for name in ("bleak", "aiomqtt", "pydantic", "textual", "pint", "pytest", "pytest-asyncio"):
        assert f'"{name}>=' in declared

"""How the files lie: none holds more than a person reads in one go, and no test file leans on another."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.bench.mutants import GROUPS

ROOT = Path(__file__).parents[1]
FILES = [path for top in ("logger", "drivers", "tui", "simulators", "tests") for path in (ROOT / top).rglob("*.py")]
MOST_LINES = 400


def leaned_on(source: str) -> set[str]:
    """Return the test modules that a module imports, or imports from, by whatever form of import."""
    return {name for name in _imported(source) if any(part.startswith("test_") for part in name.split("."))}


def _imported(source: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Import(names=names):
                yield from (name.name for name in names)
            case ast.ImportFrom(module=module, names=names):
                yield from (f"{module or ''}.{name.name}" for name in names)


@pytest.mark.parametrize(
    "line",
    [
        "from .test_other import made",
        "from . import test_other",
        "from tests.logger import test_other as other",
        "from tests.logger.test_other import made",
        "import tests.logger.test_other",
        "def late() -> None:\n    from .test_other import made",
    ],
)
def test_each_form_of_import_is_seen(line: str) -> None:
    (found,) = leaned_on(line)
    assert "test_other" in found
    assert leaned_on(line.replace("test_other", "other")) == set()


def test_no_module_imports_a_test_module() -> None:
    sources = {str(path.relative_to(ROOT)): path.read_text(encoding="utf-8") for path in FILES}
    assert len(sources) > 500
    assert {name: found for name, source in sources.items() if (found := leaned_on(source))} == {}


def test_no_file_is_too_long() -> None:
    lines = {str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines()) for path in FILES}
    assert {name: count for name, count in lines.items() if count > MOST_LINES} == {}


@pytest.mark.parametrize("name", GROUPS)
def test_what_mutation_testing_runs_on_is_there(name: str) -> None:
    held = [f"logger/{module}.py" for module in GROUPS[name].modules]
    tests = [f"tests/logger/{test}{'.py' if 'test_' in test else ''}" for test in GROUPS[name].tests]
    assert [path for path in (*held, *tests) if not (ROOT / path).exists()] == []

"""The list of what is pure is whole, and holds all the way down: the pure know of ours only what is pure too."""

import tomllib
from pathlib import Path

import grimp
import pytest

PROJECT = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8"))
LINTER = PROJECT["tool"]["importlinter"]
CORE = next(each for each in LINTER["contracts"] if each["name"].startswith("The core is pure"))
FORBIDDEN = frozenset(CORE["forbidden_modules"])
KNOWN = {
    "logger.bench.replay": {"logger.shelf.shelf"},  # how a job begins, from its first record
    "logger.collector.check": {"logger.trail.keys", "logger.trail.seal"},  # whether a signature holds
}
"""What the pure know of modules that do other things too."""


@pytest.fixture(scope="module")
def graph() -> grimp.ImportGraph:
    return grimp.build_graph(*LINTER["root_packages"], include_external_packages=True, cache_dir=None)


def is_listed(module: str) -> bool:
    return any(module == each or module.startswith(f"{each}.") for each in CORE["source_modules"])


def ours(graph: grimp.ImportGraph) -> set[str]:
    """Every module of ours with code in it."""
    return {
        module
        for module in graph.modules
        if module.partition(".")[0] in LINTER["root_packages"] and not graph.find_children(module)
    }


def known(graph: grimp.ImportGraph, module: str) -> set[str]:
    """Return the modules of ours that one imports; a folder that is named on the way is none."""
    return graph.find_modules_directly_imported_by(module) & ours(graph)


def test_the_pure_know_only_the_pure(graph: grimp.ImportGraph) -> None:
    impure = {
        module: found
        for module in ours(graph)
        if is_listed(module) and (found := {each for each in known(graph, module) if not is_listed(each)})
    }
    assert impure == KNOWN


@pytest.mark.parametrize("package", ["logger", "drivers"])
def test_what_could_be_on_the_list_is(graph: grimp.ImportGraph, package: str) -> None:
    could = {
        module
        for module in ours(graph)
        if module.startswith(f"{package}.")
        and not graph.find_modules_directly_imported_by(module) & FORBIDDEN
        and all(is_listed(each) for each in known(graph, module))
    }
    assert {module for module in could if not is_listed(module)} == set()

"""Mutation testing of the pure core: `pip install mutmut`, then `python -m tests.bench.mutants [group ...]`.

Everything happens in a copy. There, what a decorator hides from the tool (`@property`, `@cache`) is written out as
`name = property(name)`, so that it is mutated too. A mutant that mypy refuses is not run. Half an hour a group.

Two things it cannot tell: what is computed at import has no mutants that count, since every mutant is forked after it
(run such a one alone, its name in `MUTANT_UNDER_TEST`); and one that timed out may have survived on a machine with
more to do, so run it again alone before it counts.
"""

import argparse
import ast
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
SEEN_THROUGH = ("staticmethod", "classmethod")
SLOW = (
    "the_bound_holds_at_every_phase",
    "trace_of_a_minute",
    "scipy_finds",
    "false_accepts",
    "guard_band_of_2u",
    "on_limit_reading",
    "pint_is_not_imported",
)
"""Tests left out, a second and more each; what they alone would kill is told as survived."""
LENIENT = ("unused-ignore", "no-any-return", "misc", "unreachable")  # of what the tool writes, not of what it changes


class Group(NamedTuple):
    """Modules of `logger/`, and the folders and files of `tests/logger/` that they are held against."""

    modules: tuple[str, ...]
    tests: tuple[str, ...]


GROUPS = {
    "rules": Group(
        ("job/rules", "job/measured", "job/torqued", "job/zeroed", "job/judged"),
        ("job", "bench/test_decide", "bench/test_intake", "bench/test_pullintake", "bench/test_declare"),
    ),
    "job": Group(
        ("job/job", "job/facts", "job/prompt"),
        (
            "job",
            "bench/test_replay",
            "bench/test_bench",
            "bench/test_intake",
            "bench/test_pullintake",
            "bench/test_declare",
        ),
    ),
    "advice": Group(
        ("advice/advice", "advice/plan", "drive"),
        ("advice", "test_drive", "test_rigidlinks", "test_advance", "job/test_trade"),
    ),
    "pulls": Group(
        ("pulls/pulls", "pulls/found", "pulls/trace"),
        (*(f"pulls/test_{name}" for name in ("pulls", "pulls_spoilt", "pulls_limits", "found", "trace")),),
    ),
    "units": Group(
        ("units", "metrology/conformity", "metrology/uncertainty"),
        ("test_units", "test_quantities", "test_windows", "test_shown", "metrology"),
    ),
}

QUICK = """
from hypothesis import Phase, settings

settings.register_profile(
    "mutants", max_examples=25, phases=[Phase.explicit, Phase.generate], derandomize=True, database=None, deadline=None
)
settings.load_profile("mutants")
"""
"""Examples are the same each time, and one that fails is not made smaller."""
MANY_EXAMPLES = re.compile(r"max_examples=\d{2,}")
"""What a test states of its own stands above the profile."""


def undecorated(source: str) -> str:
    """The same module with each lone decorator of a function applied by a line after it."""
    tree, lines = ast.parse(source), source.splitlines()
    tuples = [one for one in tree.body if isinstance(one, ast.ClassDef) and "NamedTuple" in map(ast.unparse, one.bases)]
    left = {node for one in tuples for node in ast.walk(one)}  # nothing but fields and methods may stand there
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef) and node not in left]
    for node in sorted(functions, key=lambda one: -one.lineno):
        if len(node.decorator_list) != 1 or (decorator := ast.unparse(node.decorator_list[0])) in SEEN_THROUGH:
            continue
        plain, indent = f"_plain_{node.name}", " " * node.col_offset
        lines.insert(node.end_lineno or node.lineno, f"{indent}{node.name} = {decorator}({plain})")
        lines[node.lineno - 1] = lines[node.lineno - 1].replace(f"def {node.name}(", f"def {plain}(", 1)
        lines[node.decorator_list[0].lineno - 1] = ""
    return "\n".join(lines) + "\n"


def lay_out(folder: Path, group: Group) -> None:
    """Copy the tree and write what the tool has to know of a group."""
    for package in ("logger", "drivers", "simulators", "tui", "tests"):
        shutil.copytree(ROOT / package, folder / package, ignore=shutil.ignore_patterns("__pycache__"))
    files = [f"logger/{module}.py" for module in group.modules]
    for file in files:
        (folder / file).write_text(undecorated((folder / file).read_text()))
    for test in (folder / "tests/logger").rglob("test_*.py"):
        test.write_text(MANY_EXAMPLES.sub("max_examples=12", test.read_text()))
    with (folder / "tests/conftest.py").open("a") as conftest:
        conftest.write(QUICK)
    lenient = [word for code in LENIENT for word in ("--disable-error-code", code)]
    tests = [f"tests/logger/{test}{'.py' if 'test_' in test else ''}" for test in group.tests]
    settings = {
        "source_paths": ["logger"],
        "only_mutate": files,
        "also_copy": ["drivers", "simulators", "tui"],
        "pytest_add_cli_args_test_selection": tests,
        "pytest_add_cli_args": ["-p", "no:cacheprovider", "-k", f"not ({' or '.join(SLOW)})"],
        "process_isolation": "forkserver",  # forked before any test ran: what is cached is not yet there
        "timeout_multiplier": 20.0,  # of a wall clock, which others share
        "type_check_command": ["mypy", *files, "--output", "json", *lenient],
    }
    written = "".join(f"{key} = {value!r}\n" for key, value in settings.items())
    (folder / "pyproject.toml").write_text(f"{(ROOT / 'pyproject.toml').read_text()}\n[tool.mutmut]\n{written}")


def run(folder: Path) -> dict[str, str]:
    """Run every mutant of a folder; return each by name with what became of it."""
    beside = Path(sys.executable).parent
    env = os.environ | {"PATH": f"{beside}{os.pathsep}{os.environ['PATH']}"}
    subprocess.run([beside / "mutmut", "run", "--max-children", "2"], cwd=folder, env=env, check=True)
    told = subprocess.run(
        [beside / "mutmut", "results", "--all", "true"], cwd=folder, env=env, check=True, capture_output=True, text=True
    )
    return dict(line.strip().rsplit(": ", 1) for line in told.stdout.splitlines() if ": " in line)


def table(group: Group, found: dict[str, str]) -> list[str]:
    """One line a module, and the names of what survived."""
    lines = []
    for module in group.modules:
        name = f"logger.{module.replace('/', '.')}"
        mine = {each: fate for each, fate in found.items() if each.rpartition(".")[0] == name}
        fates = Counter(mine.values())
        dead = fates["killed"] + fates["caught by type check"] + fates["timeout"]
        lines.append(
            f"{name:32} {len(mine):5} mutants {fates['caught by type check']:5} by types {fates['killed']:5} by tests"
            f" {fates['timeout']:3} timed out {len(mine) - dead:4} survived {dead / max(1, len(mine)):7.1%}"
        )
        lines += [
            f"    {each}: {fate}" for each, fate in mine.items() if fate in ("survived", "no tests", "suspicious")
        ]
    return lines


def main() -> None:
    """Run the groups that are named, or all."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.mutants", description=__doc__)
    parser.add_argument("groups", nargs="*", metavar="group", help=f"of {', '.join(GROUPS)}; all when none is named")
    parser.add_argument("--folder", type=Path, help="where to keep the copies, for `mutmut show` and `mutmut browse`")
    asked = parser.parse_args()
    if unknown := set(asked.groups) - set(GROUPS):
        parser.error(f"There is no group {', '.join(sorted(unknown))}. Name some of: {', '.join(GROUPS)}.")
    told: list[str] = []
    with tempfile.TemporaryDirectory() as scratch:
        for name in asked.groups or GROUPS:
            folder = (asked.folder or Path(scratch)) / name
            lay_out(folder, GROUPS[name])
            told += table(GROUPS[name], run(folder))
    sys.stdout.write("\n".join(told) + "\n")


if __name__ == "__main__":
    main()

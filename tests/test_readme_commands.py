"""The README's commands and options are those of the table of commands, and the reverse; so are its exit codes."""

import re
from collections import defaultdict
from collections.abc import Iterator

import pytest

from tui.cli import parser
from tui.commands.options import Option
from tui.commands.table import Command
from tui.exits import Exit

from .leaves import LEAVES
from .readme import README, prose, rows, section, spans

FAMILIES = {("tools", "profile"), ("trail",), ("shop",), ("sheets",), ("tools",)}
"""Commands that only lead to others."""
EITHER = {"evenhand record": {"JOB"}, "evenhand rejudge": {"JOB"}}
"""What may be left out by the parser, where README shows what stands in its place."""


def as_written(option: Option) -> str:
    """An option as README writes it: --seed N, --format json|csv|html, JOB."""
    (name,), settings = option.names, option.settings
    if settings.get("action") == "store_true":
        return name
    choices, metavar = settings.get("choices"), settings.get("metavar")
    if isinstance(choices, tuple):
        return f"{name} {'|'.join(choices)}"
    takes = " ".join(metavar) if isinstance(metavar, tuple) else str(metavar)
    if settings.get("nargs") == 2:
        takes = f"{takes} {takes}"
    return _plain(f"{name} {takes}" if name.startswith("--") else takes)


def _plain(usage: str) -> str:
    """A usage without the brackets within what one option takes: [STEP=]NAME."""
    return re.sub(r"\[([A-Z]+=)\]", r"\1", usage)


def is_required(option: Option) -> bool:
    if option.names[0].startswith("--"):
        return bool(option.settings.get("required"))
    return option.settings.get("nargs") != "?"


def told() -> dict[str, list[tuple[set[str], set[str]]]]:
    """By command: of each row that tells it, everything in it, and what of that stands outside brackets."""
    found: dict[str, list[tuple[set[str], set[str]]]] = defaultdict(list)
    for cell, _ in rows(section("### Commands")):
        (usage,) = map(_plain, spans(cell))
        path = re.match(r"evenhand(?: [a-z]+)*", usage)
        assert path is not None, usage
        rest = usage[path.end() :]
        found[path[0]].append((set(items(rest)), set(items(re.sub(r"\[[^]]*\]|\([^)]*\)", " ", rest)))))
    return found


def items(usage: str) -> Iterator[str]:
    """Take a usage apart: an option with what it takes, or a word in capitals."""
    words = [word for word in re.sub(r"[][()]", " ; ", usage).split() if word not in ("...", "|")]
    item = ""
    for word in [*words, ";"]:
        begins = word == ";" or word.startswith("--") or not item.startswith("--")
        if begins and item:
            yield item
            item = ""
        if word != ";":
            item = f"{item} {word}".strip()


def test_every_command_is_told_and_the_reverse() -> None:
    assert set(told()) == set(LEAVES)


@pytest.mark.parametrize("path", LEAVES)
def test_every_option_is_told_with_what_it_takes_and_the_reverse(path: str) -> None:
    options = [option for option in LEAVES[path].options if option.names != ("--shop",)]
    everything = set().union(*(all_ for all_, _ in told()[path]))
    assert everything == {as_written(option) for option in options}


@pytest.mark.parametrize("path", LEAVES)
def test_what_stands_outside_brackets_is_what_must_be_given(path: str) -> None:
    must = {as_written(option) for option in LEAVES[path].options if is_required(option)}
    always = set.intersection(*(bare for _, bare in told()[path]))
    assert always - EITHER.get(path, set()) == must


def test_the_commands_that_look_at_the_shop_are_named() -> None:
    (sentence,) = re.findall(r"((?:`[a-z]+`[, \nand]+)+)take `--shop \[BENCH\]`", section("### Commands"))
    with_shop = {path.removeprefix("evenhand ") for path, each in LEAVES.items() if "--shop" in _names(each)}
    assert set(spans(sentence)) == with_shop


def _names(command: Command) -> set[str]:
    return {name for option in command.options for name in option.names}


def test_the_options_that_every_command_has_are_named() -> None:
    own = {action for each in parser()._actions for action in each.option_strings if action.startswith("--")}
    assert own == {"--help", "--version", "--home"}
    opening = section("### Commands").split("|")[0]
    assert all(f"`{name}" in opening or f" {name}`" in opening for name in own)


def test_every_option_named_in_prose_is_one() -> None:
    known = {name for each in LEAVES.values() for name in _names(each)} | {"--help", "--version", "--home"}
    named = set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", " ".join(spans(README)) + prose()))
    assert named <= known, named - known


def test_exit_codes_are_all_there_and_the_reverse() -> None:
    codes = [code for code, _ in rows(section("### Exit codes"))]
    assert codes == [*(str(int(code)) for code in Exit), "128+n"]

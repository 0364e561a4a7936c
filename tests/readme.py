"""The README as its tests read it: sections, tables, fenced blocks, and every command that it names."""

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
_FENCE = re.compile(r"(?:^<!-- (?P<name>[^\n]*) -->\n)?^```(?P<kind>\w*)\n(?P<text>.*?)^```$", re.DOTALL | re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Block:
    """One fenced block; `name` is what the comment before it says."""

    name: str
    kind: str
    text: str

    @property
    def lines(self) -> tuple[str, ...]:
        """Its lines that say something."""
        return tuple(line for line in self.text.splitlines() if line.strip())


BLOCKS = tuple(Block(found["name"] or "", found["kind"], found["text"]) for found in _FENCE.finditer(README))


def block(name: str) -> Block:
    """Return the block of a name."""
    (found,) = [each for each in BLOCKS if each.name == name]
    return found


def shown_after(name: str) -> Block:
    """Return the output that README shows after the block of a name."""
    after = BLOCKS[BLOCKS.index(block(name)) + 1]
    assert (after.name, after.kind) == ("", "text"), name
    return after


def section(heading: str) -> str:
    """Return what stands under a heading, such as "### Commands", up to the next one that is not below it."""
    level = heading.index(" ")
    found = re.search(rf"^{re.escape(heading)}\n(.*?)(?=^#{{1,{level}}} |\Z)", _UNFENCED, re.DOTALL | re.MULTILINE)
    assert found is not None, heading
    return found[1]


def _without_comments_in_code(text: str) -> str:
    """Blank what begins with # inside a fence: it is no heading."""
    return _FENCE.sub(lambda found: re.sub(r"^#", " #", found[0], flags=re.MULTILINE), text)


_UNFENCED = _without_comments_in_code(README)


def rows(text: str) -> Iterator[tuple[str, ...]]:
    r"""Yield the cells of each row of the tables in a text, without heads; `\|` is a bar within a cell."""
    head = ""
    for line in text.splitlines():
        if line.startswith("|---"):
            head = line
        elif not line.startswith("|"):
            head = ""
        elif head:
            cells = re.split(r"(?<!\\)\|", line)[1:-1]
            yield tuple(cell.replace("\\|", "|").strip() for cell in cells)


def spans(text: str) -> list[str]:
    """Return the code spans of a text, in order, their line breaks as spaces."""
    bare = _FENCE.sub("", text)
    return [" ".join(found.split()) for found in re.findall(r"`([^`]+)`", bare)]


def prose() -> str:
    """Return README without its tables and its fenced blocks."""
    return "\n".join(line for line in _FENCE.sub("", README).splitlines() if not line.startswith("|"))


def command_lines(text: str) -> list[str]:
    """Return each command of a block of shell, as written."""
    return [line for line in text.splitlines() if line.strip() and not line.startswith("#")]


def words_of(command: str) -> list[str]:
    """Return the words after `evenhand` of a command, without what the shell does with its output."""
    bare = command.rpartition("| ")[2] if command.startswith("printf") else command
    words = shlex.split(bare)
    assert words[0] == "evenhand", command
    return words[1 : words.index(">")] if ">" in words else words[1:]

"""The commands that do something, by how they are written: evenhand tools scan."""

from collections.abc import Iterable, Iterator

from tui.commands.table import COMMANDS, Command


def leaves(commands: Iterable[Command] = COMMANDS, before: str = "evenhand") -> Iterator[tuple[str, Command]]:
    for command in commands:
        path = f"{before} {command.name}"
        if command.run:
            yield path, command
        yield from leaves(command.children, path)


LEAVES = dict(leaves())

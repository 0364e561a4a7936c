"""Runs what README shows: commands in a folder of their own, with the program in front of the path."""

import contextlib
import io
import os
import shlex
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

from tui.cli import main

LIMIT_S = 60.0


@dataclass(slots=True)
class Program:
    """The program in a folder; what it wrote on stdout and stderr comes back as one."""

    folder: Path
    environment: dict[str, str] = field(default_factory=dict)

    def shell(self, command: str, given: str = "") -> "subprocess.CompletedProcess[str]":
        """Run a line of shell as it stands; `evenhand` is the program of this tree."""
        own = f'evenhand() {{ {shlex.quote(sys.executable)} -m tui.cli "$@"; }}'
        return subprocess.run(
            ["bash", "-c", f"set -o pipefail\n{own}\n{command}"],
            input=given,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            timeout=LIMIT_S,
            cwd=self.folder,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[1]), **self.environment},
        )

    def here(self, command: str) -> tuple[int, str]:
        """Run a command that reads nothing in this process, which has all it needs loaded; the code, and what it said.

        What goes to a file by `>` is stdout alone.
        """
        words, _, file = command.partition(" > ")
        out = io.StringIO()
        said = io.StringIO() if file else out
        with contextlib.chdir(self.folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(said):
            code = main(shlex.split(words)[1:])
        if file:
            (self.folder / file.strip()).write_text(out.getvalue(), encoding="utf-8")
        return code, said.getvalue()

    def either(self, command: str, given: str) -> tuple[int, str]:
        """Run a command here, or with what is typed as a process of its own where it takes lines."""
        if "--plain" not in command.split() or command.startswith("evenhand demo"):
            return self.here(command)
        done = self.shell(command, given)
        return done.returncode, done.stdout

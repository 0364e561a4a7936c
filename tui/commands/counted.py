"""Words that several commands say: a number with its noun, the machines that there are."""

from pathlib import Path

from logger.shelf.index import ask
from logger.trail.file import is_there

_NAMED = 10
"""Machines that are named where one was not found."""


def count(number: int, name: str) -> str:
    """Return "1 job" or "3 jobs"."""
    return f"{number} {name}" if number == 1 else f"{number} {name}s"


def machines_there(trail: Path) -> str:
    """Say which machines the jobs of a trail are of, in a sentence that says what to do next."""
    names = [each.machine for each in ask(trail, lambda index: index.machines())] if is_there(trail) else []
    if not names:
        return "There is none yet. Start a job with: evenhand start"
    more = f" and {len(names) - _NAMED} more (all: evenhand due)" if len(names) > _NAMED else ""
    return f"Machines there are: {', '.join(names[:_NAMED])}{more}."

"""A number with its noun, for a line of text."""


def count(number: int, name: str) -> str:
    """Return "1 job" or "3 jobs"."""
    return f"{number} {name}" if number == 1 else f"{number} {name}s"

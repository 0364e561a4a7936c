"""A line of words that knows what it is for, so that nobody has to tell it by how its text begins; pure."""

from typing import Literal

Role = Literal["", "caution", "item", "act", "datum", "condition", "window", "tool", "ways out"]
"""What a line is for: a warning, one thing to see to, what hands do first, from where a value is measured, what its
window holds for, the window, with what it is measured, what is left where no adjustment helps; or, empty, all else."""


class Line(str):
    """A line of text with its role; it is the text wherever text is wanted."""

    __slots__ = ("role",)
    role: Role

    def __new__(cls, text: str, role: Role = "") -> "Line":
        """Give a text a role."""
        line = super().__new__(cls, text)
        line.role = role
        return line


def role_of(line: str) -> Role:
    """Return what a line is for; empty where nobody said."""
    return line.role if isinstance(line, Line) else ""


def caution(text: str) -> Line:
    """Return a warning as a line."""
    return Line(f"Caution: {text}", "caution")


def item(text: str) -> Line:
    """Return one thing to see to as a line."""
    return Line(f"- {text}", "item")

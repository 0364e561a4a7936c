"""A text field for a person: Enter and Tab never reach it, and a reading that a tool typed into it is taken out."""

from textual.message import Message
from textual.widgets import Input

WITH_BORDER = 3
"""Rows of a field that has a border."""


class Untype(Message):
    """The last characters were a reading of a tool, and belong to the bench; queued behind the keys themselves."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text


class Field(Input):
    """One line of text; it is submitted by a function key of its dialog only."""

    def __init__(self, name: str, label: str, most: int, value: str = "") -> None:
        super().__init__(value, id=name, max_length=most)
        self._label = label
        self.border_title = label
        self.cursor_blink = False

    def on_resize(self) -> None:
        """Say what belongs here in the field itself where there is no room for a border that says it."""
        self.placeholder = self._label if self.outer_size.height < WITH_BORDER else ""

    def on_untype(self, message: Untype) -> None:
        """Take the characters of a reading out again, where they still stand before the cursor."""
        message.stop()
        before = self.value[: self.cursor_position]
        if before.endswith(message.text):
            self.delete(self.cursor_position - len(message.text), self.cursor_position)

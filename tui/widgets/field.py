"""A text field for a person: Enter and Tab never reach it, and a reading that a tool typed into it is taken out."""

from textual.message import Message
from textual.widgets import Input


class Untype(Message):
    """The last characters were a reading of a tool, and belong to the bench; queued behind the keys themselves."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text


class Field(Input):
    """One line of text; it is submitted by a function key of its dialog only."""

    def __init__(self, name: str, label: str, most: int) -> None:
        super().__init__(id=name, placeholder=label, max_length=most)
        self.border_title = label
        self.cursor_blink = False

    def on_untype(self, message: Untype) -> None:
        """Take the characters of a reading out again, where they still stand before the cursor."""
        message.stop()
        before = self.value[: self.cursor_position]
        if before.endswith(message.text):
            self.delete(self.cursor_position - len(message.text), self.cursor_position)

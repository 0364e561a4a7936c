"""What every app of ours shares: its themes, its sizes, a driver that outlives its terminal, and how it fails."""

import os
from collections.abc import Callable, Mapping
from typing import Protocol

from textual import events
from textual.app import App, ReturnType
from textual.driver import Driver
from textual.worker import WorkerFailed

from tui.entry.keymap import Keymap
from tui.look import THEMES, theme_for

BEHIND_S = 0.05
"""A terminal that has not taken what was painted is looked at again after this long."""


class InSight(Protocol):
    """What each screen of this app does, the dialogs too."""

    def tell(self, text: str) -> None:
        """Show a refusal or a hint."""
        ...

    def untype(self, text: str) -> None:
        """Take a reading out of the field it was typed into."""
        ...


class OurApp(App[ReturnType]):
    """An app in the theme that suits the terminal, by its environment (default: that of the process).

    A key that was given a meaning, by default none, is the function key it stands for.
    """

    ENABLE_COMMAND_PALETTE = False
    HORIZONTAL_BREAKPOINTS = [(0, "-tiny"), (40, "-narrow"), (72, "-usual"), (110, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-flat"), (12, "-low"), (22, "-middle"), (34, "-tall")]  # noqa: RUF012

    def __init__(self, environment: Mapping[str, str] | None = None, keymap: Keymap | None = None) -> None:
        super().__init__()
        self.keys = keymap or Keymap()
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = theme_for(os.environ if environment is None else environment)

    def meant(self, event: events.Key) -> str:
        """Return the key that was pressed, and make it the one it stands for, where it was given a meaning."""
        if (meant := self.keys.meant(event.key)) != event.key:
            event.key, event.character = meant, None
        return event.key

    def when_painted(self, then: Callable[[], object]) -> None:
        """Call this once everything that has changed is painted, and has left for the terminal."""
        self.call_after_refresh(self._out, then)

    def _out(self, then: Callable[[], object]) -> None:
        if getattr(self._driver, "behind", False):
            self.set_timer(BEHIND_S, lambda: self._out(then))
        else:
            then()

    def get_driver_class(self) -> type[Driver]:
        """Return the driver of the platform; on a POSIX terminal one that outlives it."""
        usual = super().get_driver_class()
        if usual.__name__ != "LinuxDriver":
            return usual
        from .terminal import SteadyDriver  # noqa: PLC0415  (only where there are POSIX terminals)

        return SteadyDriver

    def _fatal_error(self) -> None:
        """End at a fault of the program without drawing its traceback: whoever runs the app tells of it."""
        self._close_messages_no_wait()

    @property
    def fault(self) -> Exception | None:
        """The exception that ended the app, if one did; what went wrong in a worker is its own."""
        found = self._exception
        return found.error if isinstance(found, WorkerFailed) and isinstance(found.error, Exception) else found

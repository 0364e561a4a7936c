"""What every app of ours shares: the themes, the sizes its styles know, and a driver that outlives its terminal."""

import os
from collections.abc import Mapping

from textual.app import App, ReturnType
from textual.driver import Driver

from .look import THEMES, theme_for


class OurApp(App[ReturnType]):
    """An app in the theme that suits the terminal, by its environment (default: that of the process)."""

    ENABLE_COMMAND_PALETTE = False
    HORIZONTAL_BREAKPOINTS = [(0, "-tiny"), (40, "-narrow"), (72, "-usual"), (110, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-flat"), (12, "-low"), (22, "-middle"), (34, "-tall")]  # noqa: RUF012

    def __init__(self, environment: Mapping[str, str] | None = None) -> None:
        super().__init__()
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = theme_for(os.environ if environment is None else environment)

    def get_driver_class(self) -> type[Driver]:
        """Return the driver of the platform; on a POSIX terminal one that outlives it."""
        usual = super().get_driver_class()
        if usual.__name__ != "LinuxDriver":
            return usual
        from .terminal import SteadyDriver  # noqa: PLC0415  (only where there are POSIX terminals)

        return SteadyDriver

"""The reins of a demo: the simulated mechanic is paused, goes on, or goes home and leaves the job to a person."""

from typing import Protocol

from tui.entry.actions import BY_HAND, PAUSE, Action


class DemoControl(Protocol):
    """What holds a simulated mechanic back."""

    paused: bool

    def toggle(self) -> None:
        """Pause, or go on."""
        ...

    def take_over(self) -> None:
        """Send the mechanic home; a person goes on by hand."""
        ...


class Reins:
    """Holds them for as long as the mechanic is there; in a job without one there is nothing to hold."""

    def __init__(self, control: DemoControl | None) -> None:
        self._control = control
        self._by_hand = False

    def pause(self) -> bool:
        """Pause the mechanic, or let him go on; whether he was there."""
        if self._control is not None:
            self._control.toggle()
        return self._control is not None

    def take_over(self) -> bool:
        """Send the mechanic home; whether he was there."""
        if self._control is None:
            return False
        self._control.take_over()
        self._control, self._by_hand = None, True
        return True

    @property
    def keys(self) -> tuple[Action, ...]:
        """The keys for it, as they act now."""
        if self._control is None:
            return ()
        return Action(PAUSE.name, PAUSE.key, "Go on" if self._control.paused else PAUSE.label), BY_HAND

    @property
    def state(self) -> str:
        """How it stands, where that is not as usual."""
        if self._control is None:
            return "by hand" if self._by_hand else ""
        return "paused" if self._control.paused else ""

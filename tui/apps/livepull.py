"""A pull in progress on the job screen: painted so often and no more, and the bell for each thing to warn of."""

from decimal import Decimal

from textual.timer import Timer

from drivers.reading import TorqueSample
from logger.bench.bench import Bench
from logger.pulls.pulls import PullState
from tui.glance.glance import pulling
from tui.screens.job import JobScreen

from .ourapp import OurApp

PAINT_S = 0.05
"""A wrench may send more often than anybody can see."""


class LivePull:
    """Takes the samples of a bench as they come, and paints the last of them."""

    def __init__(self, app: OurApp[int], bench: Bench, work: JobScreen) -> None:
        self._app, self._bench, self._work = app, bench, work
        self._state: PullState | None = None
        self._due: Timer | None = None
        self._warned = ""

    def taken(self, _: TorqueSample, state: PullState) -> None:
        """Take how a pull stands after one more sample."""
        self._state = state
        if self._due is None:
            self._due = self._app.set_timer(PAINT_S, self.paint)

    def over(self) -> None:
        """Forget what waits to be painted: it is of a pull that is over."""
        self._state = None

    def paint(self) -> None:
        """Paint how it stands now."""
        self._due = None
        if self._state is None:
            return
        live = self._state.live
        if live.held is None or live.text is None:
            self._warned = ""
            self._work.pull(None)
            return
        seen = pulling(self._bench.moment, Decimal(live.text), live.unit, Decimal(live.held))
        if seen.warns and seen.word != self._warned:
            self._warned = seen.word
            self._app.bell()
        self._work.pull(seen)

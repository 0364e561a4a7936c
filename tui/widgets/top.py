"""The rows above the work: which job this is, and what to do now; or that nothing has room."""

from collections.abc import Iterable

from rich.cells import cell_len
from textual.content import Content
from textual.geometry import Size
from textual.widgets import Static

from logger.job.job import Job
from tui.safe import safe_text

from .blocks import big, broken, largest
from .painted import Fitted, Painted, padded, plain, wrapped

_TALL = 34
"""Rows of a terminal from which on letters may grow."""


class TooSmall(Static):
    """What stands in place of everything where nothing else has room."""

    def __init__(self) -> None:
        super().__init__(
            Content("Evenhand needs 40 × 12 characters: make the window larger, or its letters smaller."), id="small"
        )


class TopBar(Painted):
    """One row: the program, the job, whether it is simulated, and how a demo or a replay stands."""

    def __init__(self) -> None:
        super().__init__(id="top")
        self._job: Job | None = None
        self._state = ""

    def show(self, job: Job, state: str = "") -> None:
        """Show a job; `state` says how a demo stands, or that it is a replay."""
        if (job.id, state) != (self._job.id if self._job else "", self._state):
            self._job, self._state = job, state
            self.refresh()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint the row; what marks it as no job of a real machine now is never what is cut."""
        if self._job is None:
            return
        job = self._job
        marks = " · ".join(filter(None, ("SIMULATED" if job.simulated else "", self._state)))
        mark = f" {marks} " if marks else ""
        about = " · ".join(safe_text(text) for text in (job.sheet.title, job.machine, f"job {job.id}", job.by))
        left = padded(f" EVENHAND  {about}", max(width - cell_len(mark), 0), "bold")
        yield left + plain(mark, "$background on $pending bold") if mark else left


class Head(Fitted):
    """What to do now: in one line, and under it as big as it fits, whole or the part of it that changes."""

    def __init__(self) -> None:
        super().__init__(id="head")
        self._whole = self._part = ""

    def show(self, whole: str, part: str) -> None:
        """Show what to do, and the part of it that matters most."""
        if (whole, part) != (self._whole, self._part):
            self._whole, self._part = safe_text(whole), safe_text(part)
            self.changed()

    def needed(self, viewport: Size, width: int) -> int:
        """Return the rows for two big lines of the kind that can be read well; the style sheet may allow less."""
        return 1 + len(self._blocks(width, 6)) if viewport.height < _TALL else 7

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint the line, then the big letters; in one row what matters most comes first."""
        blocks = self._blocks(width, height - 1)
        if height == 1 and cell_len(self._whole) > width:
            before, found, after = self._whole.rpartition(self._part)
            first, rest = (f"{found}{after}", before) if found else (self._part, self._whole)
            yield padded(f"{first} · {rest.rstrip(' :,')}", width, "$primary bold")
            return
        for line in [self._whole] if blocks else wrapped(self._whole, width):
            yield padded(line, width, "bold" if blocks else "$primary bold")
        for line in blocks:
            yield padded(line, width, "$primary bold")

    def _blocks(self, width: int, height: int) -> tuple[str, ...]:
        """The whole on one line where that can be read well, else its part on one line, or on two if bigger."""
        if (largest(self._whole, width, height) or (0, 0)) > (1, 1):
            return big(self._whole, width, height) or ()
        return broken(self._part, width, height)

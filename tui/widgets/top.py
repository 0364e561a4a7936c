"""The rows above the work: which job this is, and what to do now."""

from collections.abc import Iterable

from rich.cells import cell_len
from textual.content import Content

from logger.job import Job
from tui.safe import safe_text

from .blocks import Scale, draw, largest
from .painted import Painted, padded, plain, wrapped


class TopBar(Painted):
    """One row: the program, the job, and whether it is simulated."""

    def __init__(self) -> None:
        super().__init__(id="top")
        self._job: Job | None = None
        self._state = ""

    def show(self, job: Job, state: str = "") -> None:
        """Show a job; `state` says how a demo stands."""
        if (job.id, state) != (self._job.id if self._job else "", self._state):
            self._job, self._state = job, state
            self.refresh()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint the row; the mark SIMULATED is never what is cut."""
        if self._job is None:
            return
        job = self._job
        mark = f" SIMULATED{' · ' + self._state if self._state else ''} " if job.simulated else ""
        about = " · ".join(safe_text(text) for text in (job.sheet.title, job.machine, f"job {job.id}", job.by))
        left = padded(f" EVENHAND  {about}", max(width - cell_len(mark), 0), "bold")
        yield left + plain(mark, "$background on $pending bold") if mark else left


class Head(Painted):
    """What to do now: the step, and under it the part of it that changes, as big as it fits."""

    def __init__(self) -> None:
        super().__init__(id="head")
        self._small = self._big = ""

    def show(self, small: str, big: str) -> None:
        """Show the step and what to do with it."""
        if (small, big) != (self._small, self._big):
            self._small, self._big = safe_text(small), safe_text(big)
            self.refresh()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint the step on the first row and the rest big; plain and bold where big letters do not fit."""
        if self._small:
            yield padded(self._small, width, "bold")
        room = height - bool(self._small)
        for line in self._blocks(width, room) or wrapped(self._big, width)[:room]:
            yield padded(line, width, "$primary bold")

    def _blocks(self, width: int, height: int) -> tuple[str, ...]:
        """One big line, or two where they are bigger; none where only the smallest letters would fit."""
        found: list[tuple[Scale, int, tuple[str, ...]]] = []
        for lines in _splits(self._big):
            scales = [largest(line, width, height // len(lines)) or (0, 0) for line in lines]
            found.append((min(scales), -len(lines), lines))
        scale, _, lines = max(found)
        return tuple(row for line in lines for row in draw(line, scale)) if scale[0] > 1 else ()


def _splits(text: str) -> Iterable[tuple[str, ...]]:
    """The text on one line, and on two about equally long."""
    yield (text,)
    spaces = [at for at, character in enumerate(text) if character == " "]
    if spaces:
        middle = min(spaces, key=lambda at: abs(at - len(text) // 2))
        yield text[:middle], text[middle + 1 :]

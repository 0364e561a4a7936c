"""A job as a line of its events: what happened where, how far it was played, and when that was."""

from collections.abc import Iterable, Sequence

from textual.content import Content

from tui.replay.replaying import MOST_MS, Frame, Mark, Player

from .painted import Painted, padded, plain

_ORDER = tuple(Mark)


def columns(count: int, width: int) -> list[int]:
    """Return the column of each event; the first and the last stand at the ends."""
    if count < 2:
        return [0] * count
    return [at * (width - 1) // (count - 1) for at in range(count)]


def line_of(frames: Sequence[Frame], width: int) -> str:
    """Return the line with the mark that matters most in each column."""
    found: dict[int, Mark] = {}
    for column, frame in zip(columns(len(frames), width), frames, strict=True):
        here = [*frame.marks, *((found[column],) if column in found else ())]
        if here:
            found[column] = min(here, key=_ORDER.index)
    return "".join(found[column].value if column in found else "─" for column in range(width))


class Timeline(Painted):
    """Two rows: the line with where it stands, and the same in words."""

    def __init__(self) -> None:
        super().__init__(id="timeline")
        self._frames: Sequence[Frame] = ()
        self._player = Player()
        self._when = ""

    def show(self, frames: Sequence[Frame], player: Player, when: str) -> None:
        """Show where a replay stands; `when` is the instant of its event."""
        if (player, when) != (self._player, self._when) or frames is not self._frames:
            self._frames, self._player, self._when = frames, player, when
            self.refresh()

    def rows(self, width: int, height: int) -> Iterable[Content]:
        """Paint the line up to the event, the event itself standing out, the rest; then the words."""
        if not self._frames:
            return
        line, at = line_of(self._frames, width), self._player.at
        here = columns(len(self._frames), width)[at]
        mark = line[here] if line[here] != "─" else "●"
        played = line[:here].replace("─", "━")
        yield (
            plain(played, "$primary bold")
            + plain(mark, "$background on $primary bold")
            + plain(line[here + 1 :], "$quiet")
        )
        yield padded(self._words(), width, "bold")

    def _words(self) -> str:
        frame, player = self._frames[self._player.at], self._player
        state = "▶ playing" if player.playing else "‖ paused"
        waited = f"  ({_long(frame.passed_ms // 1000)} after, {MOST_MS // 1000} s here)" if frame.shortened else ""
        count = f"{player.at + 1} of {len(self._frames)}"
        return f"{state} ×{player.speed}  {count}  no. {frame.moment.record.seq}  {self._when}{waited}"


def _long(seconds: int) -> str:
    """A time in the unit that says enough."""
    return f"{seconds} s" if seconds < 120 else f"{seconds // 60} min" if seconds < 7200 else f"{seconds // 3600} h"

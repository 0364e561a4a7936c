"""Learning a tool live: frames and what its display showed become a capture, line by line; pure.

A press often brings several frames: a value, a count, a heartbeat. What is typed belongs, on each characteristic, to
the newest frame that can mean it beside all that is known, unless a person names the frame by its number.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass

from logger.errors import BadInput

from .capture import MAX_LINES, read_capture
from .learn import Lesson, learn

REPEAT_NS = 300_000_000
"""A frame seen before is shown again after this time: the same value was measured again."""
MOST_KEPT = MAX_LINES - 2000
"""From so many frames on, only those that were not seen before are kept."""
ENOUGH = 3
"""Different readings from which on nothing more is asked; a third one bears out what two told."""
CONFIRM = "One way of reading is left, on two readings: measure something else to bear it out, or say done."
MOST_TRIED = 12
"""Frames of one press that are tried."""
_FRAME = re.compile(r"#(?P<number>[0-9]{1,5})(?:\s+(?P<shown>.+))?")
HELP = (
    "Press the tool's button and type what its display shows, with its unit, such as 30.41 mm. Other words: "
    "#7 30.41 mm (for the frame of that number), skip (the display was not read), back (take the last answer back), "
    "done, quit."
)


@dataclass(slots=True)
class Row:
    """One frame of the capture."""

    uuid: str
    hex: str
    shown: str | None = None


class Talk:
    """What was heard and answered so far."""

    def __init__(self) -> None:
        self.rows: list[Row] = []
        self._begun = 0
        """Where the frames of this press begin."""
        self._seen: set[tuple[str, str]] = set()
        self._new: set[int] = set()
        """Places of frames that had not been seen when they came."""
        self._told: dict[tuple[str, str], int] = {}
        self._answers: list[tuple[int, ...]] = []
        self.unkept = 0

    # --- what is heard ----------------------------------------------------------------------------------------------

    def heard(self, uuid: str, octets: bytes, mono_ns: int) -> str | None:
        """Take one frame; return it as a line with its number, or None where it says nothing new just now."""
        if not octets:
            return None
        row = Row(uuid, octets.hex())
        key, is_new = (row.uuid, row.hex), (row.uuid, row.hex) not in self._seen
        if len(self.rows) >= MAX_LINES or (len(self.rows) >= MOST_KEPT and not is_new):
            self.unkept += 1
            return None
        if is_new:
            self._seen.add(key)
            self._new.add(len(self.rows))
        self.rows.append(row)
        before = self._told.get(key)
        if before is not None and mono_ns - before < REPEAT_NS:
            return None
        self._told[key] = mono_ns
        return f"#{len(self.rows)}  {_short(uuid)}  {row.hex}"

    # --- what is answered -------------------------------------------------------------------------------------------

    def answer(self, text: str) -> str:
        """Note what the display showed; return what was noted. BadInput when it is no reading or has no frame."""
        named = _FRAME.fullmatch(text)
        if named is not None:
            return self._note((self._place(int(named["number"])),), named["shown"] or "")
        if self._begun == len(self.rows):
            raise BadInput("No frame has come since the last answer.", "Press the tool's button, then type the value.")
        _read([Row(self.rows[-1].uuid, self.rows[-1].hex, text)])  # refuses what is no reading
        return self._note(tuple(self._targets(text)), text)

    def _place(self, number: int) -> int:
        if not 1 <= number <= len(self.rows):
            raise BadInput(f"There is no frame #{number}.", f"Frames have come from #1 to #{len(self.rows)}.")
        return number - 1

    def _note(self, places: tuple[int, ...], shown: str) -> str:
        row = self.rows[places[-1]]
        if not shown.strip():
            raise BadInput(f"What did the display show for {row.hex}?", "Type such as: #7 30.41 mm")
        _read([Row(row.uuid, row.hex, shown)])  # refuses what is no reading
        for place in places:
            self.rows[place].shown = shown.strip()
        self._answers.append(places)
        self.skip()
        return f"Noted: {', '.join(f'#{place + 1}' for place in places)} showed {shown.strip()}."

    def skip(self) -> None:
        """Let the frames that came stand without a reading, and wait for the next press."""
        self._begun = len(self.rows)

    def back(self) -> str:
        """Take the last answer back; BadInput when there is none."""
        if not self._answers:
            raise BadInput("There is no answer to take back.")
        places = self._answers.pop()
        for place in places:
            self.rows[place].shown = None
        return f"Taken back: {', '.join(f'#{place + 1}' for place in places)}."

    def _targets(self, shown: str) -> Iterator[int]:
        """Yield, for each characteristic heard since the last answer, the frame that the display was read for."""
        fresh: dict[str, dict[str, int]] = {}
        for place in range(self._begun, len(self.rows)):
            fresh.setdefault(self.rows[place].uuid, {})[self.rows[place].hex] = place
        for uuid, places in fresh.items():
            order = sorted(places.values(), key=lambda place: (place not in self._new, -place))
            yield order[0] if len(order) == 1 else self._fitting(uuid, order[:MOST_TRIED], shown)

    def _fitting(self, uuid: str, places: list[int], shown: str) -> int:
        """Return the first place whose frame can mean what was shown, beside all that is known; else the first."""
        known = [row for row in self.rows if row.uuid == uuid and row.shown is not None]
        for place in places:
            if lesson_of("\n".join(map(_line, [*known, Row(uuid, self.rows[place].hex, shown)]))).fits:
                return place
        return places[0]

    # --- what is learned --------------------------------------------------------------------------------------------

    def capture(self) -> str:
        """Return all frames as a capture: one JSON object a line."""
        return "".join(_line(row) + "\n" for row in self.rows)

    @property
    def answered(self) -> bool:
        """Whether any frame has a reading."""
        return bool(self._answers)


def lesson_of(capture: str) -> Lesson:
    """Return what a capture teaches; BadInput when it is none."""
    return learn(read_capture(capture, "What was heard"))


def is_settled(lesson: Lesson) -> bool:
    """Say whether one way of reading is left, with no question open and a third reading that bore it out."""
    return len(lesson.fits) == 1 and lesson.ask is None and lesson.fits[0].known >= ENOUGH


def _read(rows: list[Row]) -> None:
    try:
        read_capture("\n".join(map(_line, rows)), "")
    except BadInput as error:
        raise BadInput(error.message.removeprefix(", line 1: "), error.remedy) from None


def _line(row: Row) -> str:
    shown = {} if row.shown is None else {"shown": row.shown}
    return json.dumps({"characteristic": row.uuid, "hex": row.hex} | shown, ensure_ascii=False)


def _short(uuid: str) -> str:
    """Return a UUID of the Bluetooth SIG's own range by its four digits, any other in full."""
    found = re.fullmatch(r"0000([0-9a-f]{4})-0000-1000-8000-00805f9b34fb", uuid)
    return found[1] if found else uuid

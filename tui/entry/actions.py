"""What a person can do by key, and what of it makes sense now; pure.

No key is one that a tool can type: function keys and Escape only.
"""

from dataclasses import dataclass, replace

from logger.bench.moment import Moment


@dataclass(frozen=True, slots=True)
class Action:
    """One thing to do by one key."""

    name: str
    key: str
    label: str
    also: str = ""
    """Another key that does the same now."""


PEDAL = Action("pedal", "f1", "Take what it shows")
CONFIRM = Action("confirm", "f2", "Confirm")
TAKE_BACK = Action("take_back", "f3", "Take back")
NOTE = Action("note", "f4", "Note")
AS_ADVISED = Action("as_advised", "f5", "Turned as advised")
OTHERWISE = Action("otherwise", "f6", "Turned otherwise")
LOOSENED = Action("loosened", "f7", "Loosened")
OVERRIDE = Action("override", "f8", "Override")
CLOSE = Action("close_job", "f9", "Close job")
PAUSE = Action("pause", "f10", "Pause")
BY_HAND = Action("by_hand", "f11", "Go on by hand")
LEAVE = Action("leave", "f12", "Leave")
MORE = Action("more_keys", "right", "More")
"""Shows the keys that did not fit."""

ALL = (PEDAL, CONFIRM, TAKE_BACK, NOTE, AS_ADVISED, OTHERWISE, LOOSENED, OVERRIDE, CLOSE, PAUSE, BY_HAND, LEAVE)

LEAVING = frozenset({"ctrl+c", "ctrl+q", LEAVE.key})
"""The keys that leave, whatever is on the screen."""

_ASKED = replace(LOOSENED, also=CONFIRM.key)
_MAIN: dict[str, Action] = {
    "confirm": CONFIRM,
    "seat": CONFIRM,
    "untouched": Action("confirm", "f2", "Untouched"),
    "note": Action("note", "f4", "Write it down"),
    "loosen": _ASKED,
    "slacken": _ASKED,
    "turn": AS_ADVISED,
    "close": CLOSE,
}


def main_action(moment: Moment) -> Action | None:
    """Return what the prompt asks to press; None where it asks for a reading."""
    action = _MAIN.get(moment.prompt.kind)
    if action is AS_ADVISED and (moment.plan is None or moment.plan.advice is None):
        return OTHERWISE
    return action


def offered(moment: Moment, *, pedal: bool = False) -> tuple[Action, ...]:
    """Return what makes sense now, what the prompt asks for first; `pedal`: a tool that is read by one is linked."""
    main, job, kind = main_action(moment), moment.job, moment.prompt.kind
    first = () if main is None else (main,)
    others = (
        (PEDAL, pedal),
        (TAKE_BACK, bool(job.last_counted)),
        (NOTE, kind != "note"),
        (OTHERWISE, kind == "turn"),
        (LOOSENED, bool(job.sheet.torques) and main is not _ASKED),
        (OVERRIDE, kind != "close"),
        (CLOSE, True),
        (LEAVE, True),
    )
    return (*first, *(action for action, sensible in others if sensible and action not in first))


def key_name(key: str) -> str:
    """A key as it is printed on a keyboard; with keys held beside it, "Shift+F8"."""
    *held, bare = key.split("+")
    return "+".join((*(each.capitalize() for each in held), _printed(bare)))


def _printed(key: str) -> str:
    return {
        "escape": "Esc",
        "up": "↑",
        "down": "↓",
        "left": "←",
        "right": "→",
        "pageup": "PgUp",
        "pagedown": "PgDn",
        "home": "Home",
        "end": "End",
        "insert": "Ins",
    }.get(key, key.upper())

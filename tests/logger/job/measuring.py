"""The small sheet at its first measure step: what is read there, and what is said of it."""

from logger import events as ev
from logger.job.job import opened
from logger.job.rules import Judged
from tests.logger.walk import SMALL, Walk, described, sheet_of

WINDOW = 'window = ["25 mm", "40 mm"]'
DIFFERENCE = 'takes = "difference"\nparts = ["down", "up"]\nlarger = "up"\n'


def walk_on(gap: str = WINDOW, *, decision: str = "simple", ends: str = "", aim: str = 'aim = "32 mm"') -> Walk:
    """The small sheet at its first measure step, with other lines for its two measure steps and its decision."""
    text = SMALL.replace('about = "', f'decision = "{decision}"\nabout = "')
    text = (
        text.replace('aim = "32 mm"', aim)
        .replace(WINDOW, gap)
        .replace('agree_within = "0.5 mm"', ends or 'agree_within = "0.5 mm"')
    )
    return Walk(sheet_of(text)).confirm()


def gap(reading: str, *, method: str = "0.5 mm", decision: str = "guarded", more: str = "") -> Judged:
    """The verdict of one reading of the 25 to 40 mm window, by a caliper that adds nothing to the method's u."""
    walk = walk_on(f'{WINDOW}\nmethod_u = "{method}"\n{more}', decision=decision)
    walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    return walk.read(reading).verdicts["gap"]


def u_of(walk: Walk, check: str) -> float:
    decision = walk.verdicts[check].decision
    assert decision is not None
    return decision.u


def expanded_of(walk: Walk, check: str) -> float:
    decision = walk.verdicts[check].decision
    assert decision is not None
    return decision.expanded


def with_offset(value: str, u: str, *, decision: str = "simple") -> Walk:
    walk = Walk(sheet_of(SMALL.replace('about = "', f'decision = "{decision}"\nabout = "')))
    opening = walk.records[0].event
    assert isinstance(opening, ev.JobOpened)
    offset = ev.SideOffset(value=value, u=u, how="laser, both wheels, by Robin in May")
    walk.records[0] = walk.records[0].model_copy(update={"event": opening.model_copy(update={"side_offset": offset})})
    walk.job = opened(walk.records[0], walk.sheet)
    return walk.confirm().read("32.00 mm")


def near(reading: str = "39.50 mm", **changes: str) -> Walk:
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.5 mm"', **changes)
    return walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0.01 mm")).read(reading)


def gap_read(*readings: str, **changes: str) -> Walk:
    """The small sheet with changed lines, and readings at its first measure step."""
    text = SMALL
    for old, new in {"window": 'window = ["25 mm", "40 mm"]', "plausible": 'plausible = ["5 mm", "90 mm"]'}.items():
        if old in changes:
            text = text.replace(new, changes[old])
    return Walk(sheet_of(text)).confirm().read(*readings)

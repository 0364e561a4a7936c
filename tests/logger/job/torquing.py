"""Jobs at their first bolt to be torqued, what is said of a bolt, and pulls that nobody asked for."""

from logger import events as ev
from logger.bench import intake
from logger.job.prompt import Prompt
from tests.logger.walk import Walk, described, sheet_of, small

AGAIN = "loosen it; Belt sag and Bearing position come first, then torque again"
"""What stands against a bolt of the small sheet that only loosening can help: its loosening disturbs both."""
STRAIGHT = "400 mm, 40 mm, 0"
"""An adapter in line with its wrench."""


def both_loose() -> Walk:
    """Both bolts loose, everything before them inside."""
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    return walk.read("32.0 mm", "32.0 mm", "32.0 mm")


def why(walk: Walk, check: str = "bolts.left") -> tuple[str, str]:
    judged = walk.verdicts[check]
    return judged.verdict, judged.reason


def loose(text: str, *stated: ev.ToolDescribed) -> Walk:
    """A job that goes as far as the first bolt to be torqued: too slack, adjusted, measured again."""
    walk = Walk(sheet_of(text))
    for each in (*stated, described("C1", "caliper", accuracy="0.02 mm", resolution="0.01 mm")):
        walk.say(each)
    walk.confirm().read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm")
    assert walk.prompt.kind == "torque"
    return walk


def asked(walk: Walk) -> tuple[str, str, int]:
    return walk.prompt.kind, walk.prompt.place, walk.prompt.number


def unasked(walk: Walk, place: str, peak: str) -> ev.PullTaken:
    """A pull on a fastener that the prompt does not ask for."""
    event = intake.reading_event(walk.job, Prompt("slacken", "bolts", place), walk.reading(peak, tool="W1"))
    assert isinstance(event, ev.PullTaken)
    walk.say(event)
    return event


def with_battery(percent: int) -> ev.ToolSeen:
    return ev.ToolSeen(tool="W1", tool_kind="torque wrench", link="ready", battery=percent)


def reason(walk: Walk) -> str:
    return walk.verdicts["bolts.left"].reason


def torqued() -> Walk:
    """Found too slack, adjusted once, both bolts torqued."""
    walk = small(upto="measure").read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    return walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("40 N·m").pull("40 N·m")

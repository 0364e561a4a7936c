"""What caught the slips of a simulated person."""

from collections.abc import Iterable

from logger import events as ev
from simulators.workshop import Slip


def what_caught(slip: Slip, records: Iterable[ev.Record]) -> str:
    """Say what on the trail caught a slip: the first event after it that shows it."""
    for record in records:
        if record.seq <= slip.after:
            continue
        event, verdicts = record.event, record.shown.verdicts
        match slip.what, event:
            case "pressed twice", ev.ReadingTaken(set_aside="duplicate"):
                return "set aside as a duplicate"
            case (("pressed again" | "wrong side"), ev.TakenBack()):
                return "seen on the screen and taken back"
            case "pulled early", ev.PullTaken():
                return "still below: the prompt stayed"
            case "dirty jaws", ev.ReadingTaken() if record.shown.prompt.startswith("zero:"):
                return "the zero check failed: wiped and taken again"
            case "pulled too far", ev.PullTaken() if "high" in verdicts.values():
                return "high: loosened and torqued again"
            case (("miscounted flats" | "forgot to seat" | "wrong side" | "pressed again"), ev.ReadingTaken()) if {
                "low",
                "high",
                "uneven",
                "unsteady",
            } & set(verdicts.values()):
                return "the next readings failed"
            case (("miscounted flats" | "forgot to seat"), ev.Turned()) if record.seq > slip.after + 2:
                return "the next readings failed"
            case _, ev.JobClosed():
                return "nothing: every check passed all the same"
    return "the job was left open"

"""SIGKILL a running job at random instants: nothing acknowledged is missing, the chain holds, the prompt is right.

`python -m tests.bench.trail_kills 200 [SEED]` prints a table. Each kill hits a process that opens the trail, takes an
open job up or begins one, and goes on from job to job. Afterwards the parent reads the trail as it lies there, before
the next process opens it.
"""

import contextlib
import multiprocessing
import multiprocessing.connection
import random
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field, fields
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerContext
from pathlib import Path

from logger import events as ev
from logger.errors import BadInput
from logger.job.prompt import next_prompt
from logger.shelf.shelf import every_job, load_job, records
from logger.trail.proof import prove
from logger.trail.read import verify
from tests.logger.trail.verifier import holds

from .killed import left_open, play_until_killed

LONGEST_S = 0.8
"""A process lives up to so long; opening the trail and taking a job up is within it."""
ON_ONE_TRAIL = 20


@dataclass(slots=True)
class Tally:
    """What so many kills left behind; every count but the first six must be 0."""

    kills: int = 0
    while_opening: int = 0
    """The process died before it had a job."""
    acknowledged: int = 0
    stored: int = 0
    unacknowledged: int = 0
    """On the disk, though the process died before it could say so: that is allowed."""
    closed: int = 0
    missing: int = 0
    different: int = 0
    broken: int = 0
    wrong_prompt: int = 0
    notes: list[str] = field(default_factory=list)

    @property
    def faults(self) -> int:
        """How many of the promises were broken."""
        return self.missing + self.different + self.broken + self.wrong_prompt

    def with_more(self, more: "Tally") -> "Tally":
        """Add what was found on another trail."""
        both = {each.name: getattr(self, each.name) + getattr(more, each.name) for each in fields(self)}
        return Tally(**both)

    def table(self) -> str:
        """Give the counts as lines of a table."""
        names = {
            "kills": "processes killed",
            "while_opening": "  of them before they had a job",
            "acknowledged": "events acknowledged",
            "stored": "events on the trail",
            "unacknowledged": "  of them stored but not yet told",
            "closed": "jobs closed on the way",
            "missing": "acknowledged events missing",
            "different": "acknowledged events that read otherwise",
            "broken": "trails whose chain, signatures or note do not hold",
            "wrong_prompt": "jobs taken up at another prompt",
        }
        rows = [f"| {text:<52} | {getattr(self, name):>7} |" for name, text in names.items()]
        return "\n".join(
            (f"| {'after SIGKILL at random instants':<52} | {'count':>7} |", f"|{'-' * 54}|{'-' * 9}|", *rows)
        )


# --- whoever kills it -----------------------------------------------------------------------------------------------


def kill_often(folder: Path, count: int, seed: int) -> Tally:
    """Kill `count` processes one after the other, so many on each trail, and look at the trail after each."""
    chance, total = random.Random(seed), Tally()
    processes = multiprocessing.get_context("forkserver")
    processes.set_forkserver_preload(["tests.bench.killed"])
    for begun in range(0, count, ON_ONE_TRAIL):
        path, tally, due = folder / str(begun) / "trail.sqlite", Tally(), ""
        for _ in range(min(ON_ONE_TRAIL, count - begun)):
            due = _look(path, _kill(processes, path, chance.uniform(0, LONGEST_S)), due, tally)
        total = total.with_more(tally)
    return total


def _kill(processes: ForkServerContext, path: Path, seconds: float) -> list[tuple[ev.Record, str]]:
    """Let a process play for so long, kill it, and return what it had acknowledged."""
    parent, child = processes.Pipe(duplex=False)
    with parent:
        process = processes.Process(target=play_until_killed, args=(path, child))
        process.start()
        child.close()
        multiprocessing.connection.wait([process.sentinel], timeout=seconds)
        process.kill()
        process.join()
        if process.exitcode != -signal.SIGKILL:
            raise RuntimeError(f"the process ended by itself ({process.exitcode})")
        return list(_said(parent))


def _said(pipe: Connection) -> Iterator[tuple[ev.Record, str]]:
    """What was acknowledged; the last word may be cut by the death of who said it."""
    with contextlib.suppress(EOFError, OSError):
        while pipe.poll():
            record, prompt = pipe.recv()
            yield ev.Record.model_validate_json(record), prompt


def _look(path: Path, said: list[tuple[ev.Record, str]], due: str, tally: Tally) -> str:
    """Hold the trail against what was said; return the prompt at which the next process must take the job up."""
    tally.kills += 1
    tally.while_opening += not said
    tally.acknowledged += len(said)
    if not _is_begun(path):
        tally.missing += len(said)
        return ""
    _hold(path, tally)
    stored = {record.seq: record for record in records(path)}
    tally.missing += sum(record.seq not in stored for record, _ in said)
    tally.different += sum(record.seq in stored and stored[record.seq] != record for record, _ in said)
    tally.stored, before = len(stored), tally.stored
    tally.unacknowledged += max(stored, default=0) - max((record.seq for record, _ in said), default=before)
    tally.closed = len(every_job(path)) - len(left_open(path))
    if said and due and said[0][1] != due:
        _wrong(tally, f"taken up at {said[0][1]}, not at {due}")
    return _due(path, stored, said, tally)


def _is_begun(path: Path) -> bool:
    """Whether there is a trail: a process killed while it makes the file leaves none, and has told of nothing."""
    try:
        verify(path)
    except BadInput:
        return False
    return True


def _hold(path: Path, tally: Tally) -> None:
    proof = prove(path)
    if proof.wrong or (proof.verified.count and not holds(path)):
        tally.broken += 1
        tally.notes.extend(proof.wrong)


def _due(path: Path, stored: dict[int, ev.Record], said: list[tuple[ev.Record, str]], tally: Tally) -> str:
    """The prompt that the events lead to; it must be the one stored as shown, and the one last told."""
    open_jobs = left_open(path)
    if not open_jobs:
        return ""
    derived = next_prompt(load_job(path, open_jobs[0])[0]).key
    last = stored[max(stored)]
    if last.job == open_jobs[0] and last.shown.prompt != derived:
        _wrong(tally, f"shown {last.shown.prompt}, derived {derived}")
    if said and said[-1][0].seq == last.seq and said[-1][1] != derived:
        _wrong(tally, f"told {said[-1][1]}, derived {derived}")
    return derived


def _wrong(tally: Tally, note: str) -> None:
    tally.wrong_prompt += 1
    tally.notes.append(note)


def main() -> int:
    """Kill as often as asked, and print the table."""
    count, seed = (int(given) for given in (*sys.argv[1:3], *("200", "2611")[len(sys.argv[1:3]) :]))
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        tally = kill_often(Path(folder), count, seed)
    sys.stdout.write(f"{tally.table()}\nseed {seed}, {time.monotonic() - began:.0f} s\n")
    for note in tally.notes:
        sys.stdout.write(f"{note}\n")
    return 1 if tally.faults else 0


if __name__ == "__main__":
    sys.exit(main())

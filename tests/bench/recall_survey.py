"""A wrench was found to read wrong, in a trail of many jobs: `python -m tests.bench.recall_survey [JOBS] [ERROR]`.

Makes the trail without a radio (`manyjobs`), recalls one of three wrenches as `evenhand recall` does, and prints a
table: whom to call back, what was read there and what was true. Seeded: the same each time.
"""

import sys
import time
from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from logger.settings.settings import Home
from logger.shelf.index import ask
from logger.shelf.recall import Recall, ToolError, recalled
from logger.shelf.shelf import begin, every_job
from logger.trail.read import verify
from tui.commands.review import recall
from tui.shell import Shell

from .manyjobs import WRENCHES, Depot, fill

MACHINES, SINCE = 40, "2025-02-01"


def row(found: Recall, day: str) -> Iterator[str]:
    """One job: the lines of its checks that rest on the tool."""
    for each in found.affected:
        if each.was is None or each.now is None:
            continue
        what = "CALL BACK" if each.fails_now and found.job.closed else "stands"
        read, true = f"{each.was.text} {each.was.unit}", f"{each.now.text} {each.now.unit}"
        told = f"{each.was.verdict} -> {each.now.verdict}"
        where = f"| {found.job.id:<6} | {day} | {found.job.machine:<9} | {each.check:<15}"
        yield f"{where} | {read:>11} | {true:>15} | {told:<16} | {what:<9} |"


def main() -> int:
    """Make, recall, print."""
    count, error = int((*sys.argv[1:2], "200")[0]), (*sys.argv[2:3], "+3 %")[0]
    with TemporaryDirectory() as folder:
        home = Home(Path(folder))
        began = time.perf_counter()
        events = fill(home.trail, Depot(MACHINES), range(count))
        made = time.perf_counter() - began
        tool = WRENCHES[1]
        jobs = every_job(home.trail, tool)
        found = [
            (each, job[0].utc[:10])
            for job in jobs
            if (each := recalled(job, begin(job[0]).sheet, tool, SINCE, ToolError.of(error))) is not None
        ]
        lines = [line for each, day in found for line in row(each, day)]
        sys.stdout.write("\n".join(line for line in lines if "CALL BACK" in line) + "\n")
        said: list[str] = []
        shell = Shell(home, said.append, said.append, said.append, has_screen=False)
        began = time.perf_counter()
        recall(shell, Namespace(tool=tool, error=error, since=SINCE, look=False, json=False))
        took = time.perf_counter() - began
        back = {line.split()[1] for line in lines if "CALL BACK" in line}
        now = ask(home.trail, lambda index: [item for each in index.machines() for item in each.due if item.now])
        for text in (
            f"{count} jobs, {events} events, made in {made:.1f} s. {tool} reads {error} too much since {SINCE}.",
            f"{len(found)} jobs touched, {len(lines)} checks rest on it, {len(back)} jobs to call back.",
            f"The command said: {' '.join(said[-2:])}",
            f"Recalled, and each review written, in {took:.1f} s; sound after it: {verify(home.trail).sound}.",
            f"Due names {len(now)} of those to call back: on the other machines the same sheet was done again since.",
        ):
            sys.stdout.write(text + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""One whole job over D-Bus for each fault: what was sent, what is on the trail, what counted, how soon it was ready.

Run as `python -m tests.bench.radio_faults`; a word picks the faults whose name holds it. Each row is a run of its own
of `evenhand start --plain`, with bleak's real Linux backend, against the stand-in for BlueZ.
"""

import asyncio
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from drivers.reading import Link
from logger import events as ev
from tests.played import WHOLE
from tests.radio_job import CALIPER, START, WRENCH, counted, radio_job, taken, wanted

from .radiofaultlist import FAULTS, Fault, Run

_TOLD = ("Tool ", "Radio", "The Bluetooth", "Bluetooth", "No Bluetooth", "Nothing")


@dataclass(frozen=True)
class Row:
    """What came of one fault."""

    fault: str
    sent: int
    on_trail: int
    counted: int
    right: bool
    """What counted is exactly what the job wants, in order."""
    code: int
    ready_s: float | None
    said: tuple[str, ...]

    def line(self) -> str:
        """Return it as a line of the table."""
        ready = "link kept" if self.ready_s is None else f"{self.ready_s * 1000:.0f} ms"
        verdict = "" if self.right and self.code == 0 else f"  WRONG (exit {self.code})"
        return f"{self.fault:40} {self.sent:5} {self.on_trail:8} {self.counted:8} {ready:>12}{verdict}"


async def suffer(fault: Fault, home: Path) -> Row:
    """Run the job under a fault and look at what came of it."""
    async with radio_job(home) as job:
        run = Run(job)
        session = await job.begin(*START)
        await session.ready(CALIPER, WRENCH)
        await job.play(WHOLE[: fault.at])
        run.said_before = len(session.said)
        run.over()
        session.links.pop(fault.tool, None)
        await fault.inject(run)
        if fault.tool:
            await job.session.ready(fault.tool)
        said = job.session.said[run.said_before if job.session is session else 0 :]
        await job.play(WHOLE[fault.at + fault.steps :])
        code = await job.finish()
        await run.count()
    found = job.events()
    ready = [r.mono_us * 1000 for r in found if _is_ready(r.event, fault.tool) and r.mono_us * 1000 > run.over_ns]
    ready_s = (ready[0] - run.over_ns) / 1e9 if ready and fault.tool else None
    pulls = sum(" N" in line for line in WHOLE)
    frames = sum(isinstance(r.event, ev.FrameUndecoded) for r in found)
    values, script = counted(found), [*WHOLE[: fault.at], *fault.again, *WHOLE[fault.at :]]
    told = tuple(line for line in said if line.startswith(_TOLD))
    on_trail = len(taken(found)) + frames
    return Row(fault.name, run.sent + pulls, on_trail, len(values), values == wanted(script), code, ready_s, told)


def _is_ready(event: ev.Event, tool: str) -> bool:
    return isinstance(event, ev.ToolSeen) and event.tool == tool and event.link == Link.READY


async def table(pick: str) -> int:
    """Print the table; return how many rows are wrong."""
    rows = []
    _out(f"{'fault':40} {'sent':>5} {'on trail':>8} {'counted':>8} {'ready again':>12}")
    for fault in FAULTS:
        if pick in fault.name:
            with tempfile.TemporaryDirectory() as home:
                rows.append(await suffer(fault, Path(home)))
            _out(rows[-1].line())
    for row in rows:
        _out(f"\n{row.fault}: what the person was told")
        for line in row.said:
            _out(f"  {line}")
    return sum(not row.right or row.code != 0 for row in rows)


def _out(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(asyncio.run(table(" ".join(sys.argv[1:]))))

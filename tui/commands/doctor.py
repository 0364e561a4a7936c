"""`doctor`: what of this host keeps tools or the trail from working, with a fix for each finding."""

import argparse
import asyncio
import os
from collections.abc import Iterator
from dataclasses import asdict

from tui.asjson import as_json
from tui.exits import Exit
from tui.host import findings
from tui.host.findings import Finding, Level
from tui.host.probes import Host, ThisHost
from tui.shell import Shell

MARKS: dict[Level, str] = {"fine": "✓", "warning": "!", "error": "✗"}
CODES: dict[Level, Exit] = {"fine": Exit.DONE, "warning": Exit.WARNED, "error": Exit.UNFIT}


def doctor(shell: Shell, args: argparse.Namespace) -> int:
    """Look at everything; the exit code tells the worst finding."""
    return report(shell, asyncio.run(examine(ThisHost(shell.home, os.environ))), as_data=args.json)


async def examine(host: Host) -> tuple[Finding, ...]:
    """Return a finding for each thing that is looked at."""
    answer = await host.bus_answer()
    adapters = await host.adapters() if answer == "ok" else None
    home, terminal = host.home(), host.terminal()
    return (
        findings.bus(answer, host.bus_address()),
        findings.adapters(adapters, host.chosen_adapter()),
        findings.rfkill(host.kills()),
        findings.bluez(await host.bluez()),
        findings.sqlite(host.sqlite()),
        findings.home(home),
        findings.disk(home),
        findings.clock(host.synchronised()),
        findings.broker(*await host.broker()),
        findings.toolbook(*host.toolbook()),
        findings.size(terminal),
        findings.colours(terminal),
        findings.encoding(terminal),
    )


def report(shell: Shell, found: tuple[Finding, ...], *, as_data: bool) -> int:
    """Say the findings and return the exit code."""
    worst = findings.worst(found)
    if as_data:
        shell.write(as_json({"worst": worst, "findings": [asdict(each) for each in found]}))
    else:
        for line in lines(found):
            shell.out(line)
    return CODES[worst]


def lines(found: tuple[Finding, ...]) -> Iterator[str]:
    """Yield a line for each finding."""
    for each in found:
        fix = f" Fix: {each.fix}" if each.fix else ""
        yield f"{MARKS[each.level]} {each.level:<7}  {each.check:<8}  {each.said}{fix}"

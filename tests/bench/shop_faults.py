"""What is left after each fault on a real broker, as a table: `python -m tests.bench.shop_faults [TIMES] [FAULT ...]`.

TIMES is how often the collector is killed between receive and commit (100); the other faults are done three times.
"""

import asyncio
import logging
import sys
import tempfile
from pathlib import Path

from tests.collect.faults import FAULTS, Row, network_cut

_HEAD = ("fault", "times", "on the trail", "at the shop", "lost", "doubled", "alarms")


def line(row: Row) -> str:
    cells = (row.fault, row.times, row.on_trail, row.at_shop, row.lost, row.doubled, ", ".join(row.alarms) or "none")
    return "| " + " | ".join(str(cell) for cell in cells) + " |"


async def done(fault: str, times: int) -> Row:
    with tempfile.TemporaryDirectory() as folder:
        if fault == "network-cut":
            return await network_cut(Path(folder), 2, cut_s=25.0)  # longer than the keep-alive of 15 s allows
        return await FAULTS[fault](Path(folder), times)


def main(words: list[str]) -> None:
    logging.disable(logging.CRITICAL)
    kills = int(words.pop(0)) if words and words[0].isdigit() else 100
    say = sys.stdout.write
    say("| " + " | ".join(_HEAD) + " |\n|" + "---|" * len(_HEAD) + "\n")
    for fault in words or FAULTS:
        say(line(asyncio.run(done(fault, kills if fault == "collector-killed" else 3))) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1:])

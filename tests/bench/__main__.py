"""Every benchmark in one table: `python -m tests.bench [--full] [WORD ...]`; a word picks files by their names.

Quick by default: few rounds, small trails. `--full` takes the sizes that the aims speak of. Long surveys (`*_survey`,
`*_faults`, `trail_kills`, `radio_speed` by itself) stay commands of their own.
"""

import importlib
import sys
from collections.abc import Sequence

from .rows import HEAD, Row

FILES = (
    "trail_speed",
    "trail_peer",
    "verdict_speed",
    "paint_speed",
    "voice_speed",
    "shelf_speed",
    "shop_load",
    "radio_speed",
)


def main(words: Sequence[str]) -> int:
    """Run the files that are wanted and print their rows; 1 where an aim does not hold."""
    wanted = [word for word in words if word != "--full"]
    picked = [name for name in FILES if not wanted or any(word in name for word in wanted)]
    missed = 0
    sys.stdout.write(f"{HEAD}\n")
    for name in picked:
        found: list[Row] = importlib.import_module(f"tests.bench.{name}").rows("--full" not in words)
        for row in found:
            missed += row.holds is False
            sys.stdout.write(f"{row.line()}\n")
        sys.stdout.flush()
    sys.stdout.write(f"\n{missed} aims missed.\n")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""Trails of another for tests: the chain is right, and the events are whatever the forger wished."""

import asyncio
import contextlib
import hashlib
import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from logger.trail.canonical import digest, encode, genesis
from logger.trail.head import note_path
from logger.trail.read import read
from logger.trail.trail import Trail
from tests.played import WHOLE, play

Tree = dict[str, Any]
MARKUP = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</svg><script>",
    "&lt;b&gt;",
    "]]><!--",
    "$x_1$",
)
ODD_LINES = ("\x1b[2J", "\u202e", "{{7*7}}", "%s%n", "=1+1", "'", "é" * 300, "x" * 300, "\n\n", "\ud7ff", "0", "-")
DIGITS = (
    "0",
    "-0",
    "+0",
    "-0.0",
    "9" * 64,
    "-" + "9" * 63,
    "0." + "0" * 61 + "1",
    "00012",
    "1.50",
    "-5",
    "100.1",
    "1000000",
)
INTEGERS = (0, 1, -1, 59, 90, 180, 2**31, 2**53 - 1, 1 - 2**53)
UNITS = ("mm", "in", "N·m", "lbf·ft", "km", "", "°", "<b>", "N·m\x1b[2J")
AMOUNTS = (
    "0 mm",
    "0.02 mm",
    "-1 mm",
    "3 %",
    "0 %",
    "999999999 %",
    "1 km",
    "9" * 60 + " mm",
    "0.1 N·m",
    "± 0.03 mm",
    "x",
)
DAYS = ("9999-12-31", "0001-01-01", "2026-02-30", "9999-99-99T00:00:00Z", "2026-01-05T23:30:00Z", "2026-W01", "")
WORDS = (*MARKUP, *ODD_LINES, *UNITS, *AMOUNTS, *DAYS, "slack", "tightest", "left", "j1", "axle-nut", "courier-chain")


def forged(folder: Path, records: list[Tree]) -> Path:
    """Write a trail with these records whose chain is right."""
    shutil.rmtree(folder)
    path = folder / "trail.sqlite"
    Trail.open(path).close()
    note_path(path).unlink(missing_ok=True)
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        (trail,) = db.execute("SELECT value FROM meta WHERE key = 'trail'").fetchone()
        prev = genesis(str(trail))
        db.execute("BEGIN")
        for seq, record in enumerate(records, 1):
            data = encode(record | {"seq": seq})
            own = digest(prev, data)
            db.execute("INSERT INTO events VALUES (?, ?, ?, ?)", (seq, prev, own, data))
            job = record.get("job")
            db.execute("INSERT INTO job_events VALUES (?, ?)", (seq, job if isinstance(job, str) else ""))
            prev = own
        db.execute("COMMIT")
    return path


# --- a job to forge -------------------------------------------------------------------------------------------------

STATED: Tree = {
    "kind": "tool_described",
    "tool": "TW-1",
    "tool_kind": "torque wrench",
    "stated_by": "toolbook",
    "accuracy": "3 %",
    "of_reference": True,
    "resolution": "0.1 N·m",
    "calibration_u": "0.5 N·m",
    "calibrated": "2025-06-01",
    "due": "2026-06-01",
    "certificate": "C 1",
    "pull": {"start": "5", "rest": "2.5", "noise": "0.1", "click_ms": 100, "release_ms": 200, "gap_ms": 250},
    "sample_rate": 50,
    "own_peak": False,
}
PULLED: Tree = {
    "tool": "TW-1",
    "unit": "N·m",
    "source": "profile",
    "own_peak": None,
    "host_peak": "98.1",
    "first_peak": "96.0",
    "trace": [[0, "6.0"], [100, "50.0"], [200, "96.0"], [250, "80.0"], [300, "98.1"], [400, "1.0"]],
    "figures": {"start": "5", "rest": "2.5", "noise": "0.1", "click_ms": 100, "release_ms": 200, "gap_ms": 250},
    "under_read": "1.5",
    "warnings": ["it clicked"],
    "adapter": {"wrench": "400 mm", "extension": "40 mm", "angle": 90},
}


def played(path: Path) -> list[Tree]:
    """Return the records of a whole job, with a pull that has a trace and a tool of which something is stated."""
    asyncio.run(play(path, WHOLE))
    records: list[Tree] = [dict(stored.record()) for stored in read(path)]
    at = next(n for n, each in enumerate(records) if each["event"]["kind"] == "pull_taken")
    records[at] = records[at] | {"event": records[at]["event"] | PULLED}
    return [*records[:1], records[1] | {"event": STATED, "shown": records[0]["shown"]}, *records[1:]]


# --- events that the models let in ----------------------------------------------------------------------------------


def leaves(tree: object, at: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], object]]:
    """Yield each text, number, switch and gap of a tree with its place."""
    match tree:
        case dict():
            for key, inner in tree.items():
                yield from leaves(inner, (*at, key))
        case list():
            for place, inner in enumerate(tree):
                yield from leaves(inner, (*at, place))
        case _:
            yield at, tree


def put(tree: Any, at: tuple[str | int, ...], value: object) -> Any:  # noqa: ANN401  (JSON)
    """Return a tree with another value at a place."""
    if not at:
        return value
    inner = put(tree[at[0]], at[1:], value)
    if isinstance(tree, dict):
        return tree | {at[0]: inner}
    return [*tree[: at[0]], inner, *tree[int(at[0]) + 1 :]]


def alike(value: object) -> st.SearchStrategy[object]:
    """Draw what a model may take in the place of a value: of its type, at the edges of what it allows."""
    match value:
        case bool():
            return st.booleans()
        case int():
            return st.sampled_from(INTEGERS) | st.integers(-(2**53) + 1, 2**53 - 1)
        case str() if value[-1:].isdecimal() and value.replace(".", "").lstrip("+-").isdecimal():
            return st.sampled_from(DIGITS) | st.from_regex(r"[+-]?[0-9]{1,8}(\.[0-9]{1,8})?", fullmatch=True)
        case str():
            return st.sampled_from(WORDS) | st.text(max_size=30)
        case _:
            return st.sampled_from((*DIGITS, *WORDS)) | st.sampled_from(INTEGERS)


@st.composite
def edged(draw: st.DrawFn, records: list[Tree]) -> list[Tree]:
    """Draw a job with one to four values of its events at the edges of what the models allow."""
    records = list(records)
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(records) - 1))
        found = [(place, value) for place, value in leaves(records[at]) if place[0] not in ("seq", "job")]
        place, value = draw(st.sampled_from(found))
        if place[-1] == "sheet_text":
            records[at] = resheeted(records[at], draw(st.sampled_from(MARKUP)), str(value))
        elif place[-1] != "kind":
            records[at] = put(records[at], place, draw(alike(value)))
    return records


def resheeted(record: Tree, words: str, text: str) -> Tree:
    """Return an opening whose sheet bears other words in its titles, its sum being right."""
    quoted = words.replace("\\", "\\\\").replace('"', '\\"')
    text = "\n".join(f'title = "{quoted}"' if line.startswith("title = ") else line for line in text.split("\n"))
    sha256 = hashlib.sha256(text.encode()).hexdigest()
    return record | {"event": record["event"] | {"sheet_text": text, "sheet_sha256": sha256}}

import csv
import io
from collections.abc import Iterable
from pathlib import Path

import pytest

from logger.record.record import make_record
from logger.record.table import COLUMNS, NUMBERS, as_csv
from tests.played import LAST, WHOLE, play


def _rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


async def _csv(folder: Path, script: Iterable[str]) -> list[dict[str, str]]:
    path = folder / "trail.sqlite"
    await play(path, script)
    return _rows(as_csv(make_record(path, "j1")))


async def test_a_line_for_each_check_and_all_that_happened(tmp_path: Path) -> None:
    rows = await _csv(tmp_path, WHOLE)
    made = make_record(tmp_path / "trail.sqlite", "j1")
    kinds = [row["line"] for row in rows]
    assert kinds.count("check") == len(made.checks)
    assert kinds.count("reading") == len(made.readings)
    assert kinds.count("pull") == len(made.pulls)
    assert kinds.count("turn") == len(made.turns)
    slack = next(row for row in rows if row["line"] == "check" and row["check"] == "slack.tightest")
    assert (slack["value"], slack["unit"], slack["lowest"], slack["highest"], slack["verdict"]) == (
        "31.5",
        "mm",
        "25 mm",
        "40 mm",
        "inside",
    )
    found = next(row for row in rows if row["line"] == "as found" and row["check"] == "slack.tightest")
    assert (found["value"], found["verdict"]) == ("45.0", "high")
    numbers = [int(row["number"]) for row in rows if row["line"] in ("reading", "pull", "turn", "act", "note")]
    assert numbers == sorted(numbers)
    assert (kinds[0], kinds[-1]) == ("job", "head")


async def test_an_override_stands_beside_its_check(tmp_path: Path) -> None:
    script = [*WHOLE[: -len(LAST)], "override pin the new pin is at the depot", "done", "done", "close"]
    rows = await _csv(tmp_path, script)
    assert rows[1]["line"] == "warning"
    assert rows[1]["text"].startswith("NOT TO BE RIDDEN OR RUN")
    (let,) = [row for row in rows if row["line"] == "override"]
    assert (let["check"], let["verdict"], let["text"]) == ("pin", "waiting", "Robin: the new pin is at the depot")


@pytest.mark.parametrize(
    ("note", "cell"),
    [
        ("=1+1", "'=1+1"),
        ("＝1+1", "'＝1+1"),
        ("+49 30 1", "'+49 30 1"),
        ("-0.02", "'-0.02"),
        ("@cmd", "'@cmd"),
        ('say "so", then', 'say "so", then'),
    ],
)
async def test_no_text_is_taken_for_a_formula(tmp_path: Path, note: str, cell: str) -> None:
    """CWE-1236: a leading apostrophe is the usual remedy for text, and would spoil a negative number."""
    rows = await _csv(tmp_path, ["note 12480", f"note {note}", "quit"])
    assert [row["text"] for row in rows if row["check"] == "identity" and row["line"] == "note"] == [cell]


def test_a_negative_number_stays_a_number() -> None:
    from logger.record.table import _cell

    assert all(name in COLUMNS for name in NUMBERS)
    assert _cell("value", "-0.02") == "-0.02"
    assert _cell("value", "=1+1") == "'=1+1"
    assert _cell("text", "-0.02") == "'-0.02"

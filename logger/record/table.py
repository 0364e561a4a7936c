"""A record as one table of comma-separated values (RFC 4180), a line for each check and each thing that happened; pure.

A spreadsheet takes a cell that begins with =, +, - or @ for a formula. Columns named in `NUMBERS` hold canonical
decimal text or nothing, so that a negative figure stays a number; every other column is text, and one that could be
taken for a formula begins with an apostrophe.
"""

import csv
import io
import re
from collections.abc import Iterator, Mapping

from logger.sheets.sheet import check_id

from .checked import CheckPart, LetPassPart
from .form import RecordFile
from .taken import PullPart, ReadingPart, Withdrawn

COLUMNS = (
    "line",
    "number",
    "utc",
    "check",
    "title",
    "part",
    "value",
    "unit",
    "lowest",
    "highest",
    "aim",
    "verdict",
    "u",
    "U",
    "chance_inside",
    "attempt",
    "counts",
    "tool",
    "source",
    "text",
    "at_fastener",
)
"""`line` is what a line is about: job, mileage, warning, check, as found, reading, pull, override, turn, act, note,
comment, review, tool, due, head. Of a pull `value` is what the wrench read, `at_fastener` what that is at the fastener,
to which `lowest`, `highest` and `verdict` belong."""
NUMBERS = frozenset({"number", "value", "u", "U", "chance_inside", "attempt", "at_fastener"})
"""Columns of numbers; `lowest`, `highest` and `aim` are text, since a sheet writes them with their unit."""

_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?(e-?[0-9]+)?")
_FORMULA = "=+-@\t\r\n＝＋－＠"

Row = Mapping[str, object]


def as_csv(record: RecordFile) -> str:
    """Return a record as CSV text, lines ended by CR LF, the names of the columns first."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\r\n")
    writer.writeheader()
    for row in _rows(record):
        writer.writerow({name: _cell(name, value) for name, value in row.items()})
    return out.getvalue()


def _cell(column: str, value: object) -> str:
    text = "" if value is None else str(value)
    if column in NUMBERS and _NUMBER.fullmatch(text):
        return text
    shown = "".join(char if char.isprintable() or char == "\n" else " " for char in text)
    return f"'{shown}" if text.lstrip()[:1] in _FORMULA and text.strip() else shown


def _rows(record: RecordFile) -> Iterator[Row]:
    yield from _job(record)
    for check in record.checks:
        yield from _check(check)
    happened = [*map(_reading, record.readings), *map(_pull, record.pulls), *map(_let_pass, record.overrides)]
    happened += _acts(record)
    yield from sorted(happened, key=lambda row: int(str(row["number"])))
    for comment in record.comments:
        text = f"{comment.name}, on event {comment.at}: {comment.text}{' (signed off)' if comment.signs else ''}"
        yield {"line": "comment", "number": comment.seq, "utc": comment.utc, "text": text}
    for review in record.reviews:
        changed = ", ".join(f"{each.check} {each.was} -> {each.now}" for each in review.changed)
        text = f"{review.error} since {review.since}: {changed or 'nothing changes'}"
        yield {"line": "review", "number": review.seq, "utc": review.utc, "tool": review.tool, "text": text}
    for tool in record.tools:
        stated = (tool.accuracy, tool.resolution, tool.calibrated, tool.due, tool.certificate)
        text = "; ".join(part for part in (tool.serial, *stated) if part)
        yield {"line": "tool", "tool": tool.tool, "source": tool.stated_by, "title": tool.kind, "text": text}
    for due in record.due:
        yield {"line": "due", "title": due.what, "text": due.after}
    yield {"line": "head", "number": record.head.seq, "text": f"{record.head.trail} {record.head.sha256}"}


def _job(record: RecordFile) -> Iterator[Row]:
    sheet, closed = record.sheet, record.closed or "not yet"
    yield {
        "line": "job",
        "utc": record.opened,
        "title": f"{record.job}, {record.state}",
        "verdict": sheet.decision,
        "text": f"{record.machine}; {record.by}; {sheet.title}, revision {sheet.revision}; closed {closed}",
    }
    for warning in record.warnings:
        yield {"line": "warning", "text": warning}
    if (read := record.mileage) is not None:
        yield {"line": "mileage", "title": read.title, "text": f"{read.value} {read.unit}"}


def _check(check: CheckPart) -> Iterator[Row]:
    worth, within = check.worth, check.agree_within
    low, high = check.window or (("", within) if within else ("", ""))
    found = check.as_found
    yield {
        "line": "check",
        "check": check.check,
        "title": check.title,
        "value": check.value,
        "unit": check.unit,
        "lowest": low,
        "highest": high,
        "aim": check.aim,
        "verdict": check.verdict,
        "u": worth and worth.u,
        "U": worth and worth.expanded,
        "chance_inside": worth and worth.chance_inside,
        "attempt": check.attempts,
        "text": "; ".join(filter(None, (check.reason, *check.warnings))),
    }
    if found is not None:
        yield {
            "line": "as found",
            "check": check.check,
            "title": check.title,
            "value": found.value,
            "unit": found.unit,
            "verdict": found.verdict,
        }


def _reading(reading: ReadingPart) -> Row:
    gone = _gone(reading.withdrawn)
    return {
        "line": "reading",
        "number": reading.seq,
        "utc": reading.utc,
        "check": check_id(reading.step, reading.place),
        "part": reading.part,
        "value": reading.value,
        "unit": reading.unit,
        "attempt": reading.attempt,
        "counts": _yes(not reading.set_aside and not gone),
        "tool": reading.tool,
        "source": reading.source,
        "text": "; ".join(filter(None, (reading.set_aside, gone, "suspect" if reading.suspect else ""))),
    }


def _pull(pull: PullPart) -> Row:
    gone = _gone(pull.withdrawn)
    adapter = pull.adapter
    through = f"adapter {adapter.extension} at {adapter.angle}° on {adapter.wrench}" if adapter else ""
    how = pull.how if pull.how != "measured" else ""
    low, high = pull.window or ("", "")
    return {
        "line": "pull",
        "number": pull.seq,
        "utc": pull.utc,
        "check": check_id(pull.step, pull.place),
        "part": pull.direction,
        "value": pull.own_peak or pull.host_peak,
        "at_fastener": pull.at_fastener,
        "unit": pull.unit,
        "lowest": low,
        "highest": high,
        "verdict": pull.stands,
        "counts": _yes(pull.asked and not pull.set_aside and not pull.invalid and not gone),
        "tool": pull.tool,
        "source": pull.source,
        "text": "; ".join(filter(None, (how, through, pull.set_aside, pull.invalid, *pull.warnings, gone))),
    }


def _gone(withdrawn: Withdrawn | None) -> str:
    return f"taken back: {withdrawn.why}" if withdrawn else ""


def _let_pass(let: LetPassPart) -> Row:
    text = f"{let.name}: {let.note}" + ("" if let.stands else " (ended since)")
    said = {"check": let.check, "title": let.title, "verdict": let.was, "text": text}
    return {"line": "override", "number": let.seq, "utc": let.utc, **said}


def _acts(record: RecordFile) -> Iterator[Row]:
    for turn in record.turns:
        text = f"left {turn.left}, right {turn.right} flats; advised {turn.advised_left}, {turn.advised_right}"
        yield {"line": "turn", "number": turn.seq, "utc": turn.utc, "check": turn.step, "text": text}
    for act in record.acts:
        text = "; ".join((*act.names, *act.items))
        yield {"line": "act", "number": act.seq, "utc": act.utc, "title": act.what, "text": text}
    for note in record.notes:
        yield {"line": "note", "number": note.seq, "utc": note.utc, "check": note.step, "text": note.text}


def _yes(value: bool) -> str:
    return "yes" if value else "no"

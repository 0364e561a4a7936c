"""A record as one page for a customer or an inspector: HTML without scripts, nothing fetched, plots inline.

Everything on it comes through a template that escapes every value; characters that cannot be seen stand as escapes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

import jinja2
from markupsafe import Markup

from logger.bench.replay import local_time
from logger.errors import BadInput
from logger.events import Figures
from logger.job.named import flats
from logger.job.torquepass import on_wrench
from logger.job.verdictwords import SHAPES
from logger.sheets.sheet import check_id
from logger.trail.anchor import Anchor
from logger.trail.anchorqr import qr_svg
from logger.trail.keys import fingerprint
from logger.units import parse_quantity, trimmed

from .adjusted import RoundPart, TurnPart
from .checked import CheckPart
from .form import HeadPart, RecordFile
from .plots import Band, WearPlot, rounds_svg, trace_svg, wear_svg
from .taken import PullPart, ReadingPart, ToolPart
from .words import chance, clock, must, sentence, short, visible

_PULLS_PLOTTED = 60
"""More pulls than any job needs; the others are in the table all the same."""


@dataclass(frozen=True, slots=True)
class WearStory:
    """How the chain of a machine wears over its jobs: a plot where there is one, and what it says."""

    plot: WearPlot | None
    lines: tuple[str, ...]


def as_html(record: RecordFile, story: WearStory | None = None) -> str:
    """Return a record as one self-contained page."""
    plotted = story.plot if story is not None else None
    titles = _titles(record.checks)
    drive = record.drive
    has_rounds = drive is not None and any(each.slack is not None for each in record.rounds)
    return (
        _environment(record.offset)
        .get_template("record.html")
        .render(
            r=record,
            shapes=SHAPES,
            titles={note.step: titles.get(note.step, "") for note in record.notes},
            measured=[check for check in record.checks if check.kind in ("measure", "torque", "zero")],
            confirmed=[check for check in record.checks if check.kind not in ("measure", "torque", "zero")],
            unknown=sorted({each for check in record.checks if check.worth for each in check.worth.unknown}),
            rounds_plot=rounds_svg(drive, record.rounds, record.turns, "Rounds of adjustment")
            if drive is not None and has_rounds
            else None,
            turns=list(_turns(record.turns, record.rounds, drive.governs if drive else "")),
            pulls=[_pull(pull, titles) for pull in record.pulls[:_PULLS_PLOTTED]],
            wear_plot=None if plotted is None else wear_svg(plotted, "Chain wear over mileage"),
            wear_lines=() if story is None else story.lines,
            log=sorted((*_readings(record.readings, titles), *_pulls(record.pulls, titles)), key=lambda line: line.seq),
            tools=_tools(record),
            code=Markup(qr_svg(anchor_of(record.head))),  # markup of its library, made of our own digits
            fingerprint=fingerprint(bytes.fromhex(record.head.key)) if record.head.key else "",
        )
    )


def _environment(offset: str) -> jinja2.Environment:
    """Return the templates with escaping always on, by whatever name a template goes."""
    made = jinja2.Environment(
        loader=jinja2.PackageLoader("logger.record", "pages"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=lambda value: value if isinstance(value, Markup) else visible(str(value)),
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= {
        "at": lambda utc: local_time(utc, offset)[:16] + local_time(utc, offset)[23:],
        "clock": lambda utc: clock(utc, offset),
        "chance": chance,
        "must": must,
        "sentence": sentence,
        "short": short,
    }
    return made


def anchor_of(head: HeadPart) -> Anchor:
    """Return the head that a record carries."""
    return Anchor(
        head.seq, bytes.fromhex(head.sha256), head.trail, bytes.fromhex(head.key), bytes.fromhex(head.signature)
    )


# --- adjustment -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Turn:
    number: int
    left: str
    right: str
    advised: str
    slack: str
    difference: str


def _turns(turns: Sequence[TurnPart], rounds: Sequence[RoundPart], place: str) -> Iterator[_Turn]:
    for number, turn in enumerate(turns, 1):
        after = [each for each in rounds if each.after == number]
        known = [each or Figures() for each in (turn.before, turn.expected)]
        yield _Turn(
            number,
            flats(Decimal(turn.left)),
            flats(Decimal(turn.right)),
            _advised(turn),
            _three([each.slack.get(place) for each in known], [(each.slack, each.tight) for each in after]),
            _three([each.difference for each in known], [(each.difference, each.tight) for each in after]),
        )


def _advised(turn: TurnPart) -> str:
    if turn.advised_left is None or turn.advised_right is None:
        return "nothing"
    if (turn.advised_left, turn.advised_right) == (turn.left, turn.right):
        return "the same"
    return f"left {flats(Decimal(turn.advised_left))}, right {flats(Decimal(turn.advised_right))}"


def _three(known: Sequence[str | None], after: Sequence[tuple[str | None, bool]]) -> str:
    """Before, expected and measured: as adjusted, or where it was read only after a pull, that, told so."""
    measured, tight = next(((text, tight) for text, tight in after if text is not None), (None, False))
    three = (_length(text) for text in (*known, measured))
    return " → ".join(three) + " mm" + (", after a pull" if tight else "")


def _length(text: str | None) -> str:
    return "–" if text is None else f"{float(text):.2f}".replace("-0.00", "0.00")


# --- torque ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Pull:
    title: str
    peak: str
    said: str
    how: str
    plot: Markup | None


def _titles(checks: Sequence[CheckPart]) -> dict[str, str]:
    """The title of each check, and of the two sides whose agreement is one."""
    titles = {check.check: check.title for check in checks}
    for check in checks:
        step, _, place = check.check.partition(".")
        if place == "agreement":
            for side in ("left", "right"):
                titles.setdefault(f"{step}.{side}", f"{check.title.removesuffix(', agreement')}: {side}")
    return titles


def _title(step: str, place: str, titles: dict[str, str]) -> str:
    return titles.get(check_id(step, place), check_id(step, place)) or "not asked for"


def _pull(pull: PullPart, titles: dict[str, str]) -> _Pull:
    peak = pull.own_peak or pull.host_peak
    said = [
        f"Number {pull.seq}",
        "" if _counts(pull) else f"does not count ({_why_not(pull)})",
        f"adapter {pull.adapter.extension} at {pull.adapter.angle}° on {pull.adapter.wrench}" if pull.adapter else "",
        "" if pull.direction == "clockwise" else pull.direction,
        _sampled(pull),
        *pull.warnings,
    ]
    told = "; ".join(text for text in said if text) + "."
    has_trace = len(pull.trace) > 1
    stands = "" if pull.stands is None else f", {_STANDS[pull.stands]}"
    return _Pull(
        _title(pull.step, pull.place, titles),
        f"{_torque(pull)}{stands}",
        told,
        pull.how if pull.how != "measured" else "no trace: typed or sent as one value",
        trace_svg(pull.trace, pull.unit, _band(pull), float(peak) if peak else None, f"Pull {pull.seq}")
        if has_trace
        else None,
    )


def _sampled(pull: PullPart) -> str:
    if pull.own_peak is None and pull.under_read:
        return f"the largest sample; it may lie {pull.under_read} {pull.unit} under the true peak"
    if pull.own_peak and pull.host_peak and pull.own_peak != pull.host_peak:
        return f"largest sample {trimmed(pull.host_peak)}"
    return ""


_STANDS = {
    "low": f"{SHAPES['low']} below the window",
    "high": f"{SHAPES['high']} above the window",
    "inside": f"{SHAPES['inside']} inside the window",
}


def _torque(pull: PullPart) -> str:
    """The torque of a pull; through an adapter, that at the fastener and what the wrench read."""
    received = pull.own_peak or pull.host_peak
    if received is None:
        return "no value"
    peak = trimmed(received)
    if pull.adapter is None or pull.at_fastener is None:
        return f"{peak} {pull.unit}"
    return f"{pull.at_fastener} {pull.unit} at the fastener (the wrench read {peak} {pull.unit})"


def _band(pull: PullPart) -> Band | None:
    """What passes, as the wrench has to read it and in its unit; None where no window is known."""
    if pull.window is None:
        return None
    try:
        low, high = (parse_quantity(end) for end in pull.window)
        limits = on_wrench((low, high), pull.adapter, pull.unit)
    except BadInput:
        return None
    return Band(*(None if end is None else float(end) for end in limits))


def _counts(pull: PullPart) -> bool:
    return pull.asked and not pull.set_aside and not pull.invalid and pull.withdrawn is None


def _why_not(pull: PullPart) -> str:
    back = f"taken back: {pull.withdrawn.why}" if pull.withdrawn else ""
    return back or pull.invalid or pull.set_aside or "no prompt asked for it"


# --- everything that was read ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Line:
    seq: int
    utc: str
    title: str
    value: str
    tool: str
    counts: bool
    why: str


def _readings(readings: Sequence[ReadingPart], titles: dict[str, str]) -> Iterator[_Line]:
    for each in readings:
        back = f"taken back: {each.withdrawn.why}" if each.withdrawn else ""
        counts = not each.set_aside and not back
        said = f"attempt {each.attempt}" if each.attempt is not None else "yes"
        why = back or each.set_aside or (f"{said}, suspect" if each.suspect else said)
        part = f", {each.part}" if each.part else ""
        yield _Line(
            each.seq,
            each.utc,
            _title(each.step, each.place, titles) + part,
            f"{trimmed(each.value)} {each.unit}",
            _from(each),
            counts,
            why if counts else f"no: {why}",
        )


def _pulls(pulls: Sequence[PullPart], titles: dict[str, str]) -> Iterator[_Line]:
    for each in pulls:
        value = _torque(each)
        counts = _counts(each)
        why = "yes" if counts else f"no: {_why_not(each)}"
        yield _Line(each.seq, each.utc, _title(each.step, each.place, titles), value, _from(each), counts, why)


def _from(part: ReadingPart | PullPart) -> str:
    """The tool something came from; what a person typed of it is marked."""
    return f"{part.tool} (typed)" if part.source == "typed" != part.tool else part.tool


def _tools(record: RecordFile) -> list[ToolPart]:
    """The tools that gave something or of which something is stated; not every device that was in reach."""
    gave = {each.tool for each in record.readings} | {each.tool for each in record.pulls}
    return [tool for tool in record.tools if tool.tool in gave or tool.stated_by]

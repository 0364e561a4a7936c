"""The plots of a record's page as inline SVG; the only importer of the plotting library, which is slow to load.

Figures are drawn without its global state, text stays text, and no text of a person or a tool goes into one but a unit,
which is never read as markup. Lines, markers and hatching tell things apart; colour is only added to them.
"""

import io
import re
import warnings
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass

import matplotlib as mpl
from markupsafe import Markup
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from .adjusted import DrivePart, RoundPart, TurnPart
from .words import visible

MOST_UNIT = 20
"""Characters of a unit that stand beside a plot; the table has all of them."""
_INK, _SOFT, _PASS = "#1a1a1a", "#666666", "#dcebdd"


@dataclass(frozen=True, slots=True)
class Band:
    """What passes, in the unit of a plot; None where a side is open."""

    low: float | None
    high: float | None
    aim: float | None = None


def trace_svg(
    trace: Sequence[tuple[int, str]], unit: str, band: Band | None, decided: float | None, name: str
) -> Markup:
    """Draw one pull: torque over seconds, the window as a band, the value that decided as a line."""
    with _style():
        figure = Figure(figsize=(3.5, 1.8), layout="constrained")
        axes = figure.subplots()
        seconds, values = [ms / 1000 for ms, _ in trace], [float(text) for _, text in trace]
        _pass(axes, band, (min(values), max(values)))
        axes.plot(seconds, values, color=_INK, linewidth=1.2)
        if decided is not None:
            top = max(range(len(values)), key=values.__getitem__)
            axes.plot([seconds[top]], [decided], marker="v", color=_INK, markersize=6, linestyle="none")
            axes.annotate(f"{decided:g}", (seconds[top], decided), (0, 6), textcoords="offset points", ha="center")
        axes.margins(y=0.15)
        axes.set_xlabel("seconds")
        axes.set_ylabel(visible(unit[:MOST_UNIT]))
        return _svg(figure, name)


def rounds_svg(drive: DrivePart, rounds: Sequence[RoundPart], turns: Sequence[TurnPart], name: str) -> Markup:
    """Draw slack, and left minus right, over the rounds of adjustment, with what was expected after each turning."""
    both = any(each.difference is not None for each in rounds)
    places = {(each.after, each.tight): place for place, each in enumerate(rounds)}
    with _style():
        figure = Figure(figsize=(7.2, 3.6 if both else 2.2), layout="constrained")
        axes = figure.subplots(2 if both else 1, 1, sharex=True, squeeze=False)[:, 0]
        slacks = [(each.slack, each.slack_u) for each in rounds]
        _pass(axes[0], Band(_number(drive.low_mm), _number(drive.high_mm), _number(drive.aim_mm)), _ends(slacks))
        _read(axes[0], rounds, slacks)
        expected = [each.expected.slack.get(drive.governs) if each.expected else None for each in turns]
        _expected(axes[0], places, expected)
        axes[0].set_ylabel("slack, mm")
        if both:
            apart = [(each.difference, each.difference_u) for each in rounds]
            agree = _number(drive.agree_mm)
            _pass(axes[1], Band(None if agree is None else -agree, agree, 0.0), _ends(apart))
            _read(axes[1], rounds, apart)
            _expected(axes[1], places, [each.expected.difference if each.expected else None for each in turns])
            axes[1].set_ylabel("left minus right, mm")
        axes[-1].set_xticks(range(len(rounds)), [_round(each) for each in rounds])
        axes[-1].set_xlim(-0.5, len(rounds) - 0.5)
        axes[0].legend(loc="upper right", frameon=False, ncols=3)
        return _svg(figure, name)


def _round(each: RoundPart) -> str:
    when = "as found" if each.after == 0 else f"after turn {each.after}"
    return f"{when},\nnut tight" if each.tight and each.after else f"{when},\nafter a pull" if each.tight else when


@dataclass(frozen=True, slots=True)
class WearPlot:
    """Elongation in % over mileage, the limit, and the line fitted to it as (slope, intercept), drawn up to `until`."""

    points: Sequence[tuple[float, float]]
    unit: str
    limit: float | None
    line: tuple[float, float] | None
    until: float


def wear_svg(plot: WearPlot, name: str) -> Markup:
    """Draw how a chain wears over its mileage."""
    with _style():
        figure = Figure(figsize=(7.2, 2.6), layout="constrained")
        axes = figure.subplots()
        if plot.limit is not None:
            axes.axhline(plot.limit, color=_INK, linewidth=1, linestyle="--")
            axes.annotate("worn out", (0, plot.limit), (4, 3), ("axes fraction", "data"), "offset points")
        axes.plot(*zip(*plot.points, strict=True), marker="o", color=_INK, linestyle="none", label="read")
        if plot.line is not None:
            slope, start = plot.line
            ends = [plot.points[0][0], plot.until]
            axes.plot(ends, [slope * x + start for x in ends], color=_SOFT, linestyle=":", label="fitted")
        axes.xaxis.set_major_locator(MaxNLocator(8, steps=[1, 2, 5, 10], integer=True))
        axes.set_xlabel(plot.unit)
        axes.set_ylabel("elongation, %")
        axes.margins(y=0.15)
        axes.legend(loc="lower right", frameon=False, ncols=2)
        return _svg(figure, name)


def _style() -> AbstractContextManager[None]:
    return mpl.rc_context(
        {
            "svg.fonttype": "none",
            "font.family": "sans-serif",
            "font.sans-serif": ["DejaVu Sans"],
            "font.size": 8.5,
            "text.parse_math": False,
            "axes.spines.top": False,
            "axes.spines.right": False,
            "axes.edgecolor": _SOFT,
            "axes.labelcolor": _INK,
            "xtick.color": _INK,
            "ytick.color": _INK,
            "hatch.linewidth": 0.3,
            "axes.formatter.useoffset": False,
        }
    )


# --- parts of a plot ------------------------------------------------------------------------------------------------


def _pass(axes: Axes, band: Band | None, seen: tuple[float, float]) -> None:
    """Draw what passes, hatched; an open side ends where the plot does."""
    if band is None or (band.low is None and band.high is None):
        return
    room = 0.1 * ((seen[1] - seen[0]) or 1.0)
    low = min(seen[0], band.high or seen[0]) - room if band.low is None else band.low
    high = max(seen[1], band.low or seen[1]) + room if band.high is None else band.high
    axes.axhspan(low, high, facecolor=_PASS, edgecolor="#8fb592", hatch="////", linewidth=0)
    for limit in (band.low, band.high):
        if limit is not None:
            axes.axhline(limit, color=_INK, linewidth=0.9, linestyle="--")
    if band.aim is not None:
        axes.axhline(band.aim, color=_SOFT, linewidth=0.8, linestyle="-.")


def _read(axes: Axes, rounds: Sequence[RoundPart], read: Sequence[tuple[str | None, str | None]]) -> None:
    """Draw what was read with its expanded uncertainty: a ring with the nut loose or snug, a square with it tight."""
    path = [(place, float(text)) for place, (text, _) in enumerate(read) if text is not None]
    axes.plot(*zip(*path, strict=True), color=_SOFT, linewidth=0.8)
    for tight, marker, fill, label in ((False, "o", "white", "as adjusted"), (True, "s", _INK, "nut tight")):
        found = [
            (place, float(text), 2 * float(u))
            for place, (text, u) in enumerate(read)
            if text is not None and u is not None and rounds[place].tight is tight
        ]
        if found:
            x, y, error = zip(*found, strict=True)
            axes.errorbar(
                x, y, error, fmt=marker, color=_INK, mfc=fill, mec=_INK, capsize=3, elinewidth=0.8, label=label
            )


def _expected(axes: Axes, places: dict[tuple[int, bool], int], expected: Sequence[str | None]) -> None:
    found = [
        (places[number, False], float(text))
        for number, text in enumerate(expected, 1)
        if text is not None and (number, False) in places
    ]
    if found:
        x, y = zip(*found, strict=True)
        axes.plot(x, y, marker="x", color=_INK, linestyle="none", markersize=8, mew=1.5, label="expected")


def _ends(read: Sequence[tuple[str | None, str | None]]) -> tuple[float, float]:
    values = [float(text) for text, _ in read if text is not None] or [0.0]
    return min(values), max(values)


def _number(text: str | None) -> float | None:
    return None if text is None else float(text)


_APART = re.compile(r"<metadata>.*?</metadata>|<style[^>]*>.*?</style>|<!--.*?-->", re.DOTALL)
_NAMED = re.compile(r'<g id="[^"]*"')


def _svg(figure: Figure, name: str) -> Markup:
    """Return the figure as an SVG element to stand in a page beside others, the same bytes each time."""
    FigureCanvasSVG(figure)
    out = io.StringIO()
    with mpl.rc_context({"svg.hashsalt": name}), warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph .* missing from font")  # text stays text: the reader has other fonts
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None}, transparent=True)
    text = out.getvalue()
    bare = _NAMED.sub("<g", _APART.sub("", text[text.index("<svg") :]))
    # what the library wrote is markup of its own, in which it escaped every text
    return Markup('<svg role="img" aria-label="{}"').format(name) + Markup(bare[len("<svg") :])

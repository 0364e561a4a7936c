"""The moments of a job that matter on the screen: each is a sheet, what was done on it, and what is looked at."""

from collections.abc import Awaitable, Callable, Iterator
from dataclasses import dataclass, replace

from textual.pilot import Pilot

from drivers.reading import Link
from logger import events as ev
from logger.job.candidates import Candidate, Need
from logger.job.fitness import Doubt
from logger.job.prompt import Prompt
from logger.sheets.file import load_sheet
from logger.sheets.store import open_sheet, shipped, shipped_text
from tui.apps.app import EvenhandApp
from tui.choice import NEW, Choice, Depot, Owned, PastJob, Weighed

from .hand import CALIPER, TOO_SLACK, WRENCH, Hand, at

Play = Callable[[Hand, Pilot[int]], Awaitable[None]]

UNEVEN = ("36.20", "36.95") * 2
FIGURES = {
    CALIPER: ev.ToolDescribed(
        tool=CALIPER, tool_kind="caliper", stated_by="toolbook", accuracy="0.03 mm", resolution="0.01 mm"
    ),
    WRENCH: ev.ToolDescribed(
        tool=WRENCH,
        tool_kind="torque wrench",
        stated_by="toolbook",
        accuracy="3 %",
        of_reference=True,
        resolution="0.1 N·m",
    ),
}
"""What the toolbook of the depot states of its tools."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One moment: what it is called, the text of its sheet, and how it comes about."""

    name: str
    sheet: bytes
    machine: str
    play: Play

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True, slots=True)
class Asked:
    """A question before a job: what is chosen already."""

    name: str
    choice: Choice

    def __str__(self) -> str:
        return self.name


def _job(job: str, machine: str, by: str, state: str, day: str) -> PastJob:
    return PastJob(job, "courier-chain", machine, by, state, f"2026-{day}T08:00:00Z")


_COARSE = (
    "Axle position, left and right, agreement with slide: steps of 0.2 mm are more than a tenth of the window; a finer "
    "tool would be better."
)
_USES = "Chain wear over 8 pitches; Chain slack, middle of lower run; Axle position, left and right"
_CALIPERS = (
    Candidate("jaws", "caliper", served=True),
    Candidate("slide", "caliper", (Doubt("coarse", _COARSE),)),
)
DEPOT = Depot(
    {name: open_sheet(name).sheet for name in shipped()},
    (
        _job("j212", "Depot motorcycle 7", "A. Mechanic", "open", "03-02"),
        _job("j98", "Depot motorcycle 4", "B. Fitter", "closed", "02-11"),
        _job("j1", "Depot motorcycle 7", "A. Mechanic", "closed", "01-20"),
    ),
    {
        "jaws": Owned("jaws: caliper, ± 0.03 mm; calibration due in 9 days", "calibration due in 9 days"),
        "slide": Owned("slide: caliper, ± 0.2 mm; calibration ok"),
        "lever": Owned("lever: torque wrench, ± 4 %; calibration overdue"),
    },
    lambda _: Weighed(
        (Need("caliper", "caliper", ("wear", "slack", "sides"), _CALIPERS, _USES),),
        ("lever: its calibration was due on 2026-01-31; use another tool or have it calibrated.",),
    ),
)
"""What there is to choose from at the depot."""


def questions() -> tuple[Asked, ...]:
    """Give the questions before a job."""
    machine = Choice(NEW, "courier-chain")
    named = Choice(NEW, "courier-chain", "Depot motorcycle 7", "A. Mechanic")
    picked = replace(named, tools={"caliper": "jaws"})
    return (
        Asked("00a_open_or_new", Choice()),
        Asked("00b_which_machine", machine),
        Asked("00c_which_tool", named),
        Asked("00d_kit", picked),
        Asked("00e_cautions", replace(picked, kit="read")),
    )


def _chain() -> bytes:
    return shipped_text("courier-chain")


def _guarded() -> bytes:
    return _chain().replace(b'decision = "simple"', b'decision = "guarded"')


def _adapted() -> bytes:
    figures = b'[step.adapter]\nwrench = "400 mm"\nextension = "40 mm"\n\n[[step]]\nid = "lock_nuts"'
    return _chain().replace(b'[[step]]\nid = "lock_nuts"', figures)


_ALL: list[Moment] = []


def _moment(sheet: Callable[[], bytes] = _chain, machine: str = "Depot motorcycle 7") -> Callable[[Play], Play]:
    def keep(play: Play) -> Play:
        name = f"{len(_ALL) + 1:02}_{play.__name__.strip('_')}"
        _ALL.append(Moment(name, sheet(), machine, play))
        return play

    return keep


def moments() -> Iterator[Moment]:
    """Give every moment, in the order of a job; each sheet is one that can be loaded."""
    for moment in _ALL:
        load_sheet(moment.sheet, moment.name)
        yield moment


def _turn(prompt: Prompt) -> bool:
    return prompt.kind == "turn"


def _torque(prompt: Prompt) -> bool:
    return prompt.kind == "torque"


async def _tools(hand: Hand) -> None:
    await hand.links(CALIPER, "caliper", Link.READY, 87)
    await hand.links(WRENCH, "torque wrench", Link.ASLEEP)


# --- the motorcycle -------------------------------------------------------------------------------------------------


@_moment()
async def _opened(hand: Hand, pilot: Pilot[int]) -> None:
    app = pilot.app
    assert isinstance(app, EvenhandApp)
    app.warn(
        "Axle nut with DEPOT-W001: it decides only from 92.7 to 102.9 N·m of the window 90 to 106 N·m. "
        "A wrench of 1 % or better would serve."
    )


@_moment()
async def _confirm(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("ready"))


@_moment()
async def _half_taken(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("slack", "tightest", "taut up"))


@_moment()
async def _worn_a_little(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("tightest"))


@_moment()
async def _worn_out(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("wear"))
    await hand.reads("102.95", "102.97")


@_moment()
async def _once_more(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(lambda prompt: prompt.more, slack=("300.0", "339.2", "300.0", "339.6"))


@_moment()
async def _high(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("slack", "opposite"), slack=TOO_SLACK)


@_moment()
async def _one_side(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("sides", "right"), slack=TOO_SLACK)


@_moment()
async def _uneven(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("sides", "right"), slack=TOO_SLACK)
    await hand.reads("37.25")


@_moment()
async def _advice(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(_turn, slack=TOO_SLACK, sides=UNEVEN)


@_moment()
async def _a_look(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(_turn, slack=TOO_SLACK, sides=UNEVEN)
    await hand.reads("36.50")


@_moment()
async def _after_the_turn(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(_turn, slack=TOO_SLACK, sides=UNEVEN)
    await hand.until(at("sides", "right"), slack=("300.0", "333.1"))
    await hand.reads("36.98")


@_moment()
async def _next_advice(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(_turn, slack=TOO_SLACK, sides=UNEVEN)
    await hand.bench.turned_as_advised()
    await hand.until(_turn, slack=("300.0", "343.1") * 2, sides=("36.60", "37.30") * 3)


@_moment()
async def _do_not_turn(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(_turn, slack=TOO_SLACK, sides=UNEVEN)
    await hand.bench.turned_as_advised()
    await hand.until(_turn, slack=("300.0", "347.0") * 2, sides=("36.60", "37.30") * 3)


@_moment()
async def _pull_climbs(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(_torque, slack=TOO_SLACK, sides=UNEVEN)
    await _pull(hand, pilot, "0", "20", "60", "84")


@_moment()
async def _past_the_aim(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(_torque, slack=TOO_SLACK, sides=UNEVEN)
    await _pull(hand, pilot, "0", "20", "60", "95", "101.5")


@_moment()
async def _too_far(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(_torque, slack=TOO_SLACK, sides=UNEVEN)
    await hand.torques("108")


@_moment()
async def _not_asked_for(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("slack"), slack=TOO_SLACK)
    await hand.torques("40")


@_moment()
async def _re_hit(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    right = at("lock_nuts", "right")
    await hand.until(right, slack=TOO_SLACK, sides=UNEVEN)
    await hand.torques("21")
    await hand.torques("22")


@_moment()
async def _tool_lost(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("slack", "opposite"), slack=TOO_SLACK)
    await hand.links(CALIPER, "caliper", Link.LOST, message="Out of reach or switched off.")


@_moment()
async def _refused(hand: Hand, pilot: Pilot[int]) -> None:
    await hand.until(at("wear"))
    await pilot.press("f9")


@_moment()
async def _override(hand: Hand, pilot: Pilot[int]) -> None:
    await hand.until(at("wear"))
    await pilot.press("f8")


@_moment()
async def _closed(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(lambda prompt: prompt.kind == "closed")


# --- other sheets ---------------------------------------------------------------------------------------------------


@_moment(_guarded)
async def _unsure(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("slack", "opposite"), slack=("300.0", "339.2", "300.0", "339.4"))


@_moment(_adapted)
async def _adapter(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(_torque, slack=TOO_SLACK, sides=UNEVEN)
    await _pull(hand, pilot, "0", "20", "60", "84")


@_moment(_conveyor := lambda: shipped_text("parcel-conveyor"), "Parcel conveyor 3")
async def _dirty_zero(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("zero"))
    await hand.reads("0.05")


@_moment(_conveyor, "Parcel conveyor 3")
async def _pass_1_of_2(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(lambda prompt: prompt.kind == "untouched", wear=("114.6",))
    await hand.bench.loosened("bolts")
    await hand.until(_torque)
    await hand.torques("35")


@_moment()
async def _take_back(hand: Hand, pilot: Pilot[int]) -> None:
    await _tools(hand)
    await hand.until(at("slack", "opposite"), slack=TOO_SLACK)
    await pilot.press("f3", "f3")


async def _pull(hand: Hand, pilot: Pilot[int], *texts: str) -> None:
    await pilot.pause()
    for text in texts:
        await hand.samples(text)
        hand.clock.ms += 50
    await pilot.pause()
    app = pilot.app
    assert isinstance(app, EvenhandApp)
    app.pull.paint()

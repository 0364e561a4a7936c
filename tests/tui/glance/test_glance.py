"""What one look tells: the head, the value in sight, two sides, the advice, the list of checks."""

from decimal import Decimal
from fractions import Fraction

import pytest

from drivers.reading import Link
from logger import events as ev
from logger.bench.moment import Moment
from tests.tui.hand import CALIPER, Hand, at
from tui.glance.advising import turning
from tui.glance.alarms import alarming
from tui.glance.glance import Advice, Glance, Pair, Slot, Value, big_flats, follow, glance, last_counted, pulling
from tui.glance.pulling import is_re_hit
from tui.widgets.turns import hexagon

_SLACK = ("300.0", "345.0", "300.0", "348.0")


class _Eyes:
    """Follows the moments of a bench as the screen does."""

    def __init__(self, hand: Hand) -> None:
        self._slot: Slot | None = None
        self._moment = hand.bench.moment
        hand.bench.listeners.append(self._see)

    def _see(self, moment: Moment) -> None:
        self._moment, self._slot = moment, follow(self._slot, moment)

    @property
    def look(self) -> Glance:
        return glance(self._moment, self._slot)


@pytest.fixture
def eyes(hand: Hand) -> _Eyes:
    """Eyes on the job of the hand."""
    return _Eyes(hand)


async def test_the_part_that_changes_is_what_is_big(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("slack", "opposite", "taut up"))
    assert eyes.look.small == "Chain slack, middle of lower run, opposite: taut up"
    assert eyes.look.big == "opposite: taut up"


async def test_a_step_without_parts_is_big_as_it_is(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("ready"))
    assert (eyes.look.small, eyes.look.big) == ("Machine safe, kit laid out", "Machine safe")


async def test_half_of_a_difference_is_shown_and_not_judged(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("slack", "tightest", "taut up"))
    value = eyes.look.shown
    assert isinstance(value, Value)
    assert (value.text, value.unit, value.verdict) == ("300.0", "mm", "waiting")
    assert value.title.startswith("taut down, tightest")
    assert value.bar is not None
    assert value.bar.value is None, "half of a difference has no place in the window"


async def test_half_of_a_difference_has_no_forecast_beside_it(hand: Hand, eyes: _Eyes) -> None:
    sides = ("36.20", "36.95")
    await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=sides * 2)
    await hand.until(lambda prompt: prompt.part == "taut up" and len(hand.bench.moment.job.turns) > 0)
    half = eyes.look.shown
    assert isinstance(half, Value)
    assert (half.text, half.verdict, half.beside) == ("300.0", "waiting", "")
    await hand.reads("332.0")
    whole = eyes.look.shown
    assert isinstance(whole, Value)
    assert whole.beside.startswith("expected ")


async def test_a_value_stays_in_sight_until_something_is_done(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("sides"), slack=_SLACK)
    value = eyes.look.shown
    assert isinstance(value, Value)
    assert (value.text, value.verdict, value.worth[0]) == ("48.0", "high", "margin -8.0 mm")
    assert eyes.look.big == "left", "while the prompt is already for the next place"
    await hand.bench.note("seen")
    assert isinstance(eyes.look.shown, Pair)


async def test_two_sides_stand_beside_each_other(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("sides", "right"), slack=_SLACK)
    await hand.reads("36.9500")
    pair = eyes.look.shown
    assert isinstance(pair, Pair)
    assert [side.text for side in pair.sides] == ["36.20", "36.95"]
    assert (pair.difference.text, pair.difference.verdict) == ("-0.75", "uneven")
    assert pair.difference.bar is not None
    assert pair.difference.bar.value == Fraction(-3, 4)


async def test_advice_is_in_big_words_with_what_to_expect(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95") * 2)
    advice = eyes.look.shown
    assert isinstance(advice, Advice)
    assert advice.left is not None
    assert (advice.left.said, advice.left.turn, advice.left.way) == ("5 flats tighter", "5/6 turn", "clockwise")
    assert any(line.startswith("Expected after:") for line in advice.lines)


async def test_advice_after_a_turn_that_came_out_otherwise_says_so_first(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95") * 2)
    await hand.bench.turned_as_advised()
    again = {"slack": ("300.0", "343.1") * 2, "sides": ("36.60", "37.30") * 3}
    await hand.until(lambda prompt: prompt.kind == "turn", **again)
    advice = eyes.look.shown
    assert isinstance(advice, Advice)
    assert advice.flag == "! THE LAST TURN CAME OUT OTHERWISE"
    assert [line.split(":")[0] for line in advice.lines][:3] == [
        "Expected after",
        "The last turning",
        "The last turning",
    ]


async def test_after_turning_the_expected_stands_beside_the_measured(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95") * 2)
    await hand.until(at("slack", "opposite"))
    value = eyes.look.shown
    expected = hand.bench.moment.job.turns[-1].expected
    assert isinstance(value, Value)
    assert expected is not None
    assert value.beside == f"expected {expected.slack['tightest']} mm"


async def test_a_stale_side_is_not_shown_as_if_it_held(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95") * 2)
    await hand.until(at("sides", "right"))
    pair = eyes.look.shown
    assert isinstance(pair, Pair)
    assert [side.text for side in pair.sides] == ["36.20", ""]
    assert pair.sides[1].verdict == "stale"


async def test_a_look_says_that_it_does_not_count(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95") * 2)
    await hand.reads("36.50")
    value = eyes.look.shown
    assert isinstance(value, Value)
    assert (value.text, value.verdict, value.flag) == ("36.50", None, "✕ DOES NOT COUNT")
    assert "neither counts" in value.reason


_CALIPER = ev.ToolDescribed(
    tool=CALIPER, tool_kind="caliper", stated_by="toolbook", accuracy="0.03 mm", resolution="0.01 mm"
)


async def test_the_value_comes_with_its_uncertainty_and_the_chance_of_being_inside(hand: Hand, eyes: _Eyes) -> None:
    hand.bench.describe = lambda *_: _CALIPER
    await hand.until(lambda prompt: prompt.more, slack=("300.0", "339.0", "300.0", "339.0"))
    value = eyes.look.shown
    assert isinstance(value, Value)
    assert value.bar is not None
    # method_u 0.8 mm, and the resolution of both halves: 2 sqrt(0.8^2 + 2 (0.01^2 / 12)) = 1.6 mm (GUM 5.1.2, k = 2)
    assert value.bar.spread is not None
    assert float(value.bar.spread) == pytest.approx(1.6, abs=0.001)
    assert value.worth == ("margin 1.0 mm", "U 1.6 mm", "89.4 % inside")  # normal: Phi(1.25) = 0.894


async def test_a_worn_chain_says_to_replace_it_not_to_adjust(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("wear"))
    await hand.reads("102.95")
    await hand.reads("102.97")
    assert eyes.look.big == "replace the chain"
    assert eyes.look.how[0] == "Replace the chain, or take it again, or override it with a note."
    assert "not to be adjusted but replaced" in eyes.look.how[1]


async def test_what_does_not_count_is_shown_with_the_digits_that_the_line_tells(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("ready"))
    await hand.reads("81.8000")
    value = eyes.look.shown
    assert isinstance(value, Value)
    assert value.text == "81.80"
    assert eyes.look.said.startswith("81.80 mm from ")


async def test_wear_tells_what_is_left_of_the_limit(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("tightest"))
    value = eyes.look.shown
    assert isinstance(value, Value)
    # 8 x 12.7 = 101.6 mm new, 102.6 mm worn out: 101.8 mm has used a fifth
    assert value.notes[0].endswith("80 % of the wear limit is left.")


async def test_a_torque_prompt_says_how_far(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95") * 2)
    assert eyes.look.small == "Axle nut: pull to 98 N·m"


async def test_a_second_pull_is_flagged_and_replaces_nothing(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95") * 2)
    await hand.until(at("slack"))
    assert not alarming(hand.bench.moment)
    await hand.torques("22")
    moment, value = hand.bench.moment, eyes.look.shown
    assert isinstance(value, Value)
    assert (value.text, value.verdict, value.flag) == ("21", "inside", "RE-HIT: it replaces nothing")
    assert is_re_hit(moment, "lock_nuts.right")
    assert alarming(moment)


async def test_a_pull_on_no_fastener_says_that_it_does_not_count(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("slack"))
    await hand.torques("40")
    value = eyes.look.shown
    assert isinstance(value, Value)
    assert (value.text, value.unit, value.verdict, value.flag) == ("40", "N·m", None, "✕ DOES NOT COUNT")
    assert alarming(hand.bench.moment)


async def test_what_fails_is_told_each_time_and_what_passes_is_not(hand: Hand) -> None:
    await hand.until(at("wear"))
    await hand.reads("102.95")
    await hand.reads("102.97")
    assert alarming(hand.bench.moment)
    await hand.reads("102.96")
    assert hand.bench.moment.record.shown.verdicts == {}
    assert alarming(hand.bench.moment), "high again is no change, and is told all the same"
    await hand.reads("101.80")
    assert not alarming(hand.bench.moment)


@pytest.mark.parametrize(("link", "loud"), [(Link.LOST, True), (Link.ASLEEP, False), (Link.READY, False)])
async def test_a_lost_tool_is_told_at_once(hand: Hand, link: Link, loud: bool) -> None:
    await hand.links(CALIPER, "caliper", link)
    assert alarming(hand.bench.moment) == loud


async def test_with_an_adapter_the_pull_climbs_towards_what_the_wrench_has_to_show(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95") * 2)
    await hand.bench.adapter("", ev.Adapter(wrench="400 mm", extension="40 mm"))
    assert (eyes.look.small, eyes.look.big) == ("Axle nut: pull to ≈ 89.1 N·m on the wrench", "Axle nut: ≈ 89.1 N·m")
    live = pulling(hand.bench.moment, Decimal("89.1"), "N·m", Decimal("89.1"))
    # M_set = M L / (L + E): 98 x 400 / 440 = 89.09 N·m, 106 x 400 / 440 = 96.36 N·m (NAVEDTRA 14315 fig. 3-44)
    assert live.bar is not None
    assert live.bar.high_text == "≈ 96.3 N·m"
    assert "PAST THE AIM" in live.word
    assert "on the wrench" in live.title


@pytest.mark.parametrize(
    ("count", "turn", "way"),
    [("5", "5/6 turn", "clockwise"), ("-2", "1/3 turn", "anticlockwise"), ("8", "1 1/3 turns", "clockwise")],
)
async def test_flats_are_a_part_of_a_turn_with_its_way(hand: Hand, count: str, turn: str, way: str) -> None:
    side = turning(Fraction(count), hand.bench.moment.job.sheet.drive)
    assert (side.turn, side.way) == (turn, way)


async def test_the_hexagon_numbers_the_flats_that_go_by(hand: Hand) -> None:
    drive = hand.bench.moment.job.sheet.drive
    assert [each for row in hexagon(turning(Fraction(3), drive)) for each in row if each.isdigit()] == ["1", "2", "3"]
    looser = "\n".join(hexagon(turning(Fraction(-2), drive)))
    assert "↶" in looser
    assert hexagon(turning(Fraction(0), drive)) == ()
    assert hexagon(turning(Fraction(1, 2), drive))[-1] == "then on to the next corner"


async def test_the_list_marks_the_present_check_and_keeps_the_sheet_order(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("slack", "opposite"), slack=_SLACK)
    rows = eyes.look.rows
    assert [row.check for row in rows] == list(hand.bench.moment.job.sheet.checks)
    assert [row.check for row in rows if row.current] == ["slack.opposite"]


@pytest.mark.parametrize(
    ("value", "held", "word", "verdict"),
    [
        ("50", "50", "PULLING", "waiting"),
        ("91", "91", "IN THE WINDOW", "inside"),
        ("99", "99", "PAST THE AIM", "unsure"),
        ("107", "107", "TOO FAR", "high"),
        ("60", "107", "TOO FAR", "high"),
        ("0.00", "99.12", "RELEASED", "waiting"),
        ("0.00", "107", "RELEASED", "waiting"),
    ],
)
async def test_a_pull_warns_as_it_climbs(hand: Hand, value: str, held: str, word: str, verdict: str) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95") * 2)
    live = pulling(hand.bench.moment, Decimal(value), "N·m", Decimal(held))
    assert word in live.word
    assert live.verdict == verdict
    assert live.bar is not None
    assert (live.bar.low_text, live.bar.high_text) == ("90 N·m", "106 N·m")


async def test_past_the_aim_a_nut_with_a_pin_goes_on_to_the_slot_and_any_other_stops(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95") * 2)
    nut = pulling(hand.bench.moment, Decimal("99.12"), "N·m", Decimal("99.12"))
    assert nut.word == "! PAST THE AIM: to the slot, max 106 N·m"
    await hand.until(at("lock_nuts", "left"))
    other = pulling(hand.bench.moment, Decimal("22"), "N·m", Decimal("22"))
    assert other.word == "! PAST THE AIM: stop"


async def test_what_was_let_go_warns_no_longer(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95") * 2)
    assert pulling(hand.bench.moment, Decimal("99.12"), "N·m", Decimal("99.12")).warns
    assert not pulling(hand.bench.moment, Decimal("0.00"), "N·m", Decimal("99.12")).warns


async def test_a_torque_is_shown_with_the_digits_of_its_line(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95") * 2)
    await hand.torques("98.0000")
    value = eyes.look.shown
    assert isinstance(value, Value)
    assert (value.text, value.unit, value.verdict) == ("98.00", "N·m", "inside")
    assert "set and clicked at 98.00 N·m" in eyes.look.said
    live = pulling(hand.bench.moment, Decimal("84.0000"), "N·m", Decimal("91.2500"))
    assert (live.text, live.held) == ("84.00", "91.25")


async def test_a_pull_nobody_asked_for_says_so(hand: Hand) -> None:
    live = pulling(hand.bench.moment, Decimal(50), "N·m", Decimal(50))
    assert "NOT ASKED FOR" in live.word
    assert live.bar is None


async def test_the_limits_are_shown_in_the_unit_of_the_wrench(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95") * 2)
    live = pulling(hand.bench.moment, Decimal("70.0"), "lbf·ft", Decimal("70.0"))
    assert live.bar is not None
    # 90 N·m = 66.38 lbf·ft and 106 N·m = 78.18 lbf·ft by NIST SP 811, App. B.8; shown rounded inwards
    assert (live.bar.low_text, live.bar.high_text) == ("≈ 66.4 lbf·ft", "≈ 78.1 lbf·ft")


async def test_what_would_be_taken_back_is_named(hand: Hand) -> None:
    assert last_counted(hand.bench.moment.job) == ""
    await hand.until(at("slack", "tightest", "taut up"))
    assert last_counted(hand.bench.moment.job) == "300.0 mm for Chain slack, middle of lower run, tightest, taut down"


@pytest.mark.parametrize(
    ("count", "said"),
    [("0", "leave it"), ("1/2", "½ flat tighter"), ("-3/2", "1½ flats looser"), ("2", "2 flats tighter")],
)
def test_flats_are_short_enough_to_be_big(count: str, said: str) -> None:
    assert big_flats(Fraction(count)) == said

"""What one look tells: the head, the value in sight, two sides, the advice, the list of checks."""

from decimal import Decimal
from fractions import Fraction

import pytest

from logger.bench import Moment
from tui.glance import Advice, Glance, Pair, Slot, Value, big_flats, follow, glance, last_counted, pulling

from .hand import Hand, at

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
    assert eyes.look.big == eyes.look.small == "Machine safe, kit laid out"


async def test_half_of_a_difference_is_shown_and_not_judged(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("slack", "tightest", "taut up"))
    value = eyes.look.shown
    assert isinstance(value, Value)
    assert (value.text, value.unit, value.verdict) == ("300.0", "mm", "waiting")
    assert value.title.startswith("taut down, tightest")
    assert value.bar is not None
    assert value.bar.value is None, "half of a difference has no place in the window"


async def test_a_value_stays_in_sight_until_something_is_done(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(at("sides"), slack=_SLACK)
    value = eyes.look.shown
    assert isinstance(value, Value)
    assert (value.text, value.verdict, value.margin) == ("48.0", "high", "-8.0 mm")
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
    await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95"))
    advice = eyes.look.shown
    assert isinstance(advice, Advice)
    assert advice.left.endswith("tighter")
    assert any(line.startswith("Expected after:") for line in advice.lines)


async def test_after_turning_the_expected_stands_beside_the_measured(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95"))
    await hand.until(at("slack", "opposite"))
    value = eyes.look.shown
    expected = hand.bench.moment.job.turns[-1].expected
    assert isinstance(value, Value)
    assert expected is not None
    assert value.beside == f"expected {expected.slack['tightest']} mm"


async def test_a_stale_side_is_not_shown_as_if_it_held(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95"))
    await hand.until(at("sides", "right"))
    pair = eyes.look.shown
    assert isinstance(pair, Pair)
    assert [side.text for side in pair.sides] == ["36.20", ""]
    assert pair.sides[1].verdict == "stale"


async def test_a_look_says_that_it_does_not_count(hand: Hand, eyes: _Eyes) -> None:
    await hand.until(lambda prompt: prompt.kind == "turn", slack=_SLACK, sides=("36.20", "36.95"))
    await hand.reads("36.50")
    value = eyes.look.shown
    assert isinstance(value, Value)
    assert (value.text, value.verdict) == ("36.50", None)
    assert "neither counts" in value.reason


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
        ("99", "99", "PAST THE AIM", "inside"),
        ("107", "107", "TOO FAR", "high"),
        ("60", "107", "TOO FAR", "high"),
    ],
)
async def test_a_pull_warns_as_it_climbs(hand: Hand, value: str, held: str, word: str, verdict: str) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95"))
    live = pulling(hand.bench.moment, Decimal(value), "N·m", Decimal(held))
    assert word in live.word
    assert live.verdict == verdict
    assert live.bar is not None
    assert (live.bar.low_text, live.bar.high_text) == ("90 N·m", "106 N·m")


async def test_a_pull_nobody_asked_for_says_so(hand: Hand) -> None:
    live = pulling(hand.bench.moment, Decimal(50), "N·m", Decimal(50))
    assert "NOT ASKED FOR" in live.word
    assert live.bar is None


async def test_the_limits_are_shown_in_the_unit_of_the_wrench(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "torque", slack=_SLACK, sides=("36.20", "36.95"))
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

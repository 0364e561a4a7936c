"""How far to turn: properties of the joint answer, and which of many answers wins."""

import re
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logger.advice.advice import AdviceInput, advise, predict
from logger.drive import Drive
from tests.logger.advice.cases import COARSE, COURIER, FOUND, known

hundredths = st.integers(-300, 300).map(lambda n: Decimal(n) / 100)


@st.composite
def inputs(draw: st.DrawFn) -> AdviceInput:
    tightest = Decimal(draw(st.integers(0, 700))) / 10
    more = Decimal(draw(st.integers(0, 80))) / 10
    low = draw(st.integers(15, 30))
    width = draw(st.integers(2, 20))
    return AdviceInput(
        drive=draw(st.sampled_from([COURIER, COARSE])),
        slack_mm={"tightest": tightest, "opposite": tightest + more},
        governing="tightest",
        aim_mm=low + Fraction(width, 2),
        window_mm=draw(st.sampled_from([None, (Fraction(low), Fraction(low + width))])),
        difference_mm=draw(st.none() | hundredths),
        grows=draw(st.sampled_from(["rearward", "forward"])),
        offset_mm=draw(st.sampled_from([Decimal(0), Decimal("0.35")])),
        agree_within_mm=draw(st.sampled_from([None, Fraction(1, 5), Fraction(1, 2)])),
        max_flats=draw(st.sampled_from([3, 8])),
        slack_u_mm=draw(st.sampled_from([0.0, 0.7])),
    )


def mirrored(given_: AdviceInput) -> AdviceInput:
    difference = None if given_.difference_mm is None else -given_.difference_mm
    return replace(
        given_,
        difference_mm=difference,
        offset_mm=-given_.offset_mm,
        left_share=1 - given_.left_share,
    )


@settings(deadline=None, max_examples=60)
@given(inputs())
def test_never_taut_and_inside_everything_when_it_fits(case: AdviceInput) -> None:
    answer = advise(case)
    expected = known(answer.expected_slack_mm)
    assert all(value > 0 for value in expected.values())
    assert max(abs(answer.left), abs(answer.right)) <= case.max_flats
    if answer.fits and case.window_mm:
        assert all(case.window_mm[0] <= value <= case.window_mm[1] for value in expected.values())
    if answer.fits and case.agree_within_mm is not None:
        assert abs(answer.expected_difference_mm - Fraction(case.offset_mm)) <= case.agree_within_mm
    assert answer.fits != any(note.startswith("nothing fits") for note in answer.notes)


@settings(deadline=None, max_examples=60)
@given(inputs())
def test_the_forecast_is_that_of_the_same_turns(case: AdviceInput) -> None:
    answer = advise(case)
    assert replace(predict(case, answer.left, answer.right), notes=answer.notes) == answer


@settings(deadline=None, max_examples=60)
@given(inputs())
def test_nothing_fits_only_when_no_half_flat_does(case: AdviceInput) -> None:
    answer = advise(case)
    halves = [Fraction(n, 2) for n in range(-2 * case.max_flats, 2 * case.max_flats + 1, 3)]
    if not answer.fits and case.difference_mm is not None:
        assert not any(predict(case, left, right).fits for left in halves for right in halves)
    if answer.left.denominator == 2 or answer.right.denominator == 2:
        wholes = range(-case.max_flats, case.max_flats + 1)
        rights = [None] if case.difference_mm is None else wholes
        assert not any(
            predict(case, left, left if right is None else right).fits for left in wholes for right in rights
        )


@settings(deadline=None, max_examples=60)
@given(inputs())
def test_a_mirrored_machine_gets_mirrored_turns(case: AdviceInput) -> None:
    answer, mirror = advise(case), advise(mirrored(case))
    if case.difference_mm is None or Fraction(case.difference_mm) != Fraction(case.offset_mm):
        assert (mirror.left, mirror.right) == (answer.right, answer.left)
        assert mirror.expected_difference_mm == -answer.expected_difference_mm
    assert mirror.expected_slack_mm == answer.expected_slack_mm


@settings(deadline=None, max_examples=60)
@given(inputs())
def test_a_gauge_that_grows_the_other_way_turns_its_sign(case: AdviceInput) -> None:
    difference = None if case.difference_mm is None else -case.difference_mm
    other = replace(
        case,
        grows="forward" if case.grows == "rearward" else "rearward",
        difference_mm=difference,
        offset_mm=-case.offset_mm,
    )
    answer, same = advise(case), advise(other)
    assert (same.left, same.right) == (answer.left, answer.right)
    assert same.expected_difference_mm == -answer.expected_difference_mm


@settings(deadline=None, max_examples=60)
@given(st.integers(50, 600), st.integers(1, 100))
def test_a_looser_chain_is_never_tightened_less(slack: int, more: int) -> None:
    def moved(tenths: int) -> float:
        read = {"tightest": Decimal(tenths) / 10}
        return advise(replace(FOUND, slack_mm=read, difference_mm=None)).axle_movement_mm

    assert moved(slack) <= moved(slack + more)


@settings(deadline=None, max_examples=40)
@given(hundredths)
def test_the_side_that_stands_forward_is_turned_more(difference: Decimal) -> None:
    answer = advise(replace(FOUND, difference_mm=difference))
    if abs(difference) > Decimal("0.3"):
        assert (answer.left > answer.right) == (difference < 0)
    assert abs(answer.expected_difference_mm) <= Fraction(1, 2) or not answer.fits


def test_a_slack_and_crooked_machine_comes_in_with_one_answer() -> None:
    answer = advise(FOUND)
    assert answer.fits
    assert (answer.left, answer.right) == (Fraction(6), Fraction(1))
    assert answer.axle_movement_mm == pytest.approx(3.5 / 6)
    assert answer.expected_difference_mm == Fraction(-9, 10) + Fraction(5, 6)


def test_one_flat_of_a_coarser_thread_by_hand() -> None:
    # 40 mm on a 646.94 mm span, one flat of 0.2083 mm on both sides: 32.6 mm (own arithmetic, two ways).
    drive = Drive.from_teeth(17, 42, Decimal("15.875"), 650, Decimal("1.25"))
    case = AdviceInput(drive=drive, slack_mm={"chain": Decimal(40)}, governing="chain", aim_mm=Fraction(33))
    answer = advise(case)
    assert answer.left == answer.right == 1
    assert answer.expected_slack_mm["chain"] == pytest.approx(32.595, rel=0.002)
    assert answer.expected_difference_mm == 0


def test_of_a_tie_the_looser_wins() -> None:
    case = replace(FOUND, slack_mm={"tightest": Decimal(40)}, difference_mm=None, window_mm=None)
    one, two = (predict(case, n, n).expected_slack_mm["tightest"] or 0 for n in (1, 2))
    halfway = replace(case, aim_mm=(Fraction(one) + Fraction(two)) / 2)
    assert advise(halfway).left == 1
    assert advise(replace(halfway, aim_mm=halfway.aim_mm - Fraction(1, 100))).left == 2


@pytest.mark.parametrize("difference", ["0.25", "-0.25"])
def test_of_answers_equally_good_the_sides_turned_alike_win(difference: str) -> None:
    case = AdviceInput(
        drive=COARSE,
        slack_mm={"chain": Decimal(55)},
        governing="chain",
        aim_mm=Fraction(COARSE.slack_after(55, 0.5) or 0),
        difference_mm=Decimal(difference),
    )
    # One more on one side and one less on the other would leave the same difference the other way round.
    assert advise(case).left == advise(case).right == 2


@pytest.mark.parametrize(
    ("difference", "moved", "turns"),
    [
        ("-0.5", -0.125, (0, -1)),  # as good as (1, -2), of which a side goes back too: then those turned more alike
        ("0.5", -0.125, (-1, 0)),
        ("-0.25", -0.25, (0, -2)),  # as good as (-1, -1), of which both sides go back
        ("0.25", -0.25, (-2, 0)),
    ],
)
def test_of_answers_equally_good_fewer_sides_go_back(difference: str, moved: float, turns: tuple[int, int]) -> None:
    case = AdviceInput(
        drive=COARSE,
        slack_mm={"chain": Decimal(30)},
        governing="chain",
        aim_mm=Fraction(COARSE.slack_after(30, moved) or 0),
        difference_mm=Decimal(difference),
    )
    answer = advise(case)
    assert [answer.left, answer.right] == list(turns)


def test_sides_that_were_not_measured_are_turned_alike() -> None:
    answer = advise(replace(FOUND, difference_mm=None, offset_mm=Decimal("0.4")))
    assert answer.left == answer.right
    assert answer.expected_difference_mm == Fraction(2, 5)


def test_a_proven_offset_is_what_square_reads() -> None:
    answer = advise(replace(FOUND, difference_mm=Decimal("0.7"), offset_mm=Decimal("0.7")))
    assert answer.left == answer.right


def test_half_flats_only_where_no_whole_flat_fits() -> None:
    tight = replace(
        FOUND,
        slack_mm={"tightest": Decimal(40)},
        difference_mm=None,
        aim_mm=Fraction(37),
        window_mm=(Fraction(36), Fraction(38)),
    )
    answer = advise(tight)
    assert answer.fits
    assert answer.left == answer.right == Fraction(1, 2)
    assert "a half flat: corner up" in answer.notes
    assert "a half notch: between two notches" in advise(replace(tight, adjuster="cam")).notes


def test_a_difference_in_doubt_weighs_more() -> None:
    even = replace(FOUND, slack_mm={"tightest": Decimal("41.5")}, difference_mm=Decimal("0.1"))
    sure, unsure = advise(even), advise(replace(even, difference_u_mm=0.4))
    assert abs(unsure.expected_difference_mm) <= abs(sure.expected_difference_mm)
    assert (sure.left, sure.right) != (unsure.left, unsure.right)


def test_a_difference_in_any_doubt_keeps_a_quarter_of_its_room() -> None:
    """Own vector: with a quarter of 0.5 mm the sides may stand a flat apart for the slack, with less they may not."""
    case = replace(
        FOUND,
        slack_mm={"tightest": Decimal("44.1")},
        difference_mm=Decimal("-0.08"),
        left_share=Fraction(3, 4),
    )
    for u in (0.375, 0.5, 7.0):
        answer = advise(replace(case, difference_u_mm=u))
        assert (float(answer.left), float(answer.right)) == (3.0, 2.0)


def test_sides_that_may_stand_further_apart_weigh_less() -> None:
    """Own vectors: at 35.9 mm and 0.31 mm askew slack outweighs the sides only where they may stand apart."""
    case = replace(FOUND, slack_mm={"tightest": Decimal("35.9")}, difference_mm=Decimal("-0.31"))
    loose, strict = advise(replace(case, agree_within_mm=Fraction(1))), advise(case)
    assert (float(loose.left), float(loose.right)) == (1.0, 0.0)
    assert (float(strict.left), float(strict.right)) == (2.0, 0.0)


def test_of_two_answers_that_mirror_each_other_the_left_side_is_turned_more() -> None:
    square = replace(FOUND, drive=COARSE, agree_within_mm=Fraction(2), difference_mm=Decimal(0))
    answer = advise(replace(square, slack_mm={"tightest": Decimal("43.9")}))
    assert (float(answer.left), float(answer.right)) == (2.0, 1.0)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"governing": "top"}, "no slack was read at 'top', the place that governs: measure it first"),
        (
            {"slack_mm": {"tightest": Decimal(-1)}},
            "slack at tightest is -1 mm: it cannot be below zero, measure it again",
        ),
        (
            {"window_mm": (Fraction(40), Fraction(25))},
            "the slack window's lowest value is above its highest: swap them",
        ),
        ({"max_flats": 0}, "at least one flat must be allowed, and the left share must lie between 0 and 1"),
        ({"left_share": Fraction(2)}, "at least one flat must be allowed, and the left share must lie between 0 and 1"),
        (
            {"left_share": Fraction(-1, 9)},
            "at least one flat must be allowed, and the left share must lie between 0 and 1",
        ),
    ],
)
def test_input_that_contradicts_itself_is_refused(change: dict[str, object], said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)) as refused:
        replace(FOUND, **change)  # type: ignore[arg-type]
    assert str(refused.value) == said


@pytest.mark.parametrize(
    "change", [{"max_flats": 1}, {"left_share": Fraction(0)}, {"left_share": Fraction(1)}, {"window_mm": (32, 32)}]
)
def test_the_ends_of_what_may_be_given_are_taken(change: dict[str, object]) -> None:
    assert advise(replace(FOUND, difference_mm=None, **change)).left >= 1  # type: ignore[arg-type]

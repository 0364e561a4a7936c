"""How far to turn: properties of the joint answer, forecasts, and what a measured result says of them."""

import re
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logger.advice.advice import AdviceInput, Nut, advise, predict, snug
from logger.drive import Drive

COURIER = Drive.from_teeth(15, 42, Decimal("12.7"), 555, Decimal("1.0"))
COARSE = Drive.from_teeth(17, 42, Decimal("15.875"), 650, Decimal("1.5"))

FOUND = AdviceInput(
    drive=COURIER,
    slack_mm={"tightest": Decimal("47.0"), "opposite": Decimal("50.0")},
    governing="tightest",
    aim_mm=Fraction(32),
    window_mm=(Fraction(25), Fraction(40)),
    difference_mm=Decimal("-0.9"),
    agree_within_mm=Fraction(1, 2),
)

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


def known(expected: Mapping[str, float | None]) -> dict[str, float]:
    assert None not in expected.values()
    return {place: value for place, value in expected.items() if value is not None}


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


def test_one_flat_on_one_side_is_half_a_step() -> None:
    both, one = predict(FOUND, 1, 1), predict(FOUND, 1, 0)
    assert one.axle_movement_mm == pytest.approx(both.axle_movement_mm / 2)
    assert one.expected_difference_mm - both.expected_difference_mm == COURIER.per_flat_mm


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


def test_when_nothing_fits_it_says_what_comes_nearest_and_leans_loose() -> None:
    uneven = replace(FOUND, slack_mm={"tightest": Decimal(20), "opposite": Decimal(45)})
    answer = advise(uneven)
    assert not answer.fits
    assert any("look for uneven chain wear" in note for note in answer.notes)
    assert any(note.startswith("nothing fits; nearest is slack tightest") for note in answer.notes)
    expected = known(answer.expected_slack_mm)
    assert 25 - expected["tightest"] < expected["opposite"] - 40


def test_beyond_reach_it_goes_as_far_as_it_may() -> None:
    answer = advise(replace(FOUND, difference_mm=Decimal(4), max_flats=4))
    assert (answer.fits, answer.left < answer.right) == (False, True)
    assert any("4 flats are the most" in note for note in answer.notes)


def test_a_side_that_goes_back_ends_by_coming_in() -> None:
    answer = advise(replace(FOUND, slack_mm={"tightest": Decimal(33)}, difference_mm=Decimal("0.9")))
    assert answer.left < 0 < answer.right
    assert "left is to be loosened: turn it out one flat too many, seat it, then in again by one" in answer.notes


def test_play_left_by_the_turn_before_is_taken_up_first() -> None:
    answer = advise(replace(FOUND, last_turns=(Fraction(-2), Fraction(1)), tightens="anticlockwise"))
    assert answer.notes == ("left was turned out last: take up its play anticlockwise before counting",)


def test_no_slack_at_all_is_doubted_and_slackened() -> None:
    answer = advise(replace(FOUND, slack_mm={"tightest": Decimal(0)}, difference_mm=None))
    assert answer.left < 0
    assert any("may be tighter than can be read" in note for note in answer.notes)


def test_turns_that_would_run_taut_are_said() -> None:
    answer = predict(FOUND, 12, 12)
    assert not answer.fits
    assert answer.expected_slack_mm == {"tightest": None, "opposite": None}
    assert answer.notes[0] == "the chain would run taut at tightest: do not turn so far"


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


def test_a_sprocket_on_the_left_follows_the_left_adjuster() -> None:
    case = replace(FOUND, left_share=Fraction(3, 4))
    assert predict(case, 2, 0).axle_movement_mm == pytest.approx(3 * predict(case, 0, 2).axle_movement_mm)


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


def test_each_note_is_a_whole_sentence_for_a_person() -> None:
    uneven = advise(replace(FOUND, slack_mm={"tightest": Decimal(20), "opposite": Decimal(45)}))
    assert uneven.notes == (
        "the places differ by more than the window is wide: no turning brings them all in; "
        "look for uneven chain wear or a sprocket that runs out",
        "nothing fits; nearest is slack tightest 24.2 mm, opposite 47.0 mm, sides 0.07 mm apart",
        "right is to be loosened: turn it out one flat too many, seat it, then in again by one",
    )
    far = advise(replace(FOUND, difference_mm=Decimal(4), max_flats=4))
    assert far.notes[:2] == (
        "nothing fits; nearest is slack tightest 39.6 mm, opposite 43.1 mm, sides 3.25 mm apart",
        "4 flats are the most to turn at once: turn them, seat it, measure again",
    )
    assert far.notes[2] == "a half flat: corner up", "of the left side alone"
    none = advise(replace(FOUND, slack_mm={"tightest": Decimal(0)}, difference_mm=None))
    assert none.notes == (
        "no slack at tightest: the chain may be tighter than can be read; slacken, seat and measure again",
        "left is to be loosened: turn it out one flat too many, seat it, then in again by one",
        "right is to be loosened: turn it out one flat too many, seat it, then in again by one",
    )
    cam = replace(FOUND, slack_mm={"tightest": Decimal(33)}, difference_mm=Decimal("0.9"), adjuster="cam")
    assert advise(cam).notes == (
        "left is to be loosened: turn it out one notch too many, seat it, then in again by one",
    )
    played = advise(replace(FOUND, last_turns=(Fraction(1), Fraction(-2))))
    assert played.notes == ("right was turned out last: take up its play clockwise before counting",)
    assert advise(replace(FOUND, last_turns=(Fraction(0), Fraction(1)))).notes == ()


def test_places_that_differ_by_just_the_window_can_all_be_brought_in() -> None:
    just = replace(FOUND, slack_mm={"tightest": Decimal(25), "opposite": Decimal(40)}, difference_mm=None)
    assert advise(just).notes == ()
    apart = replace(just, slack_mm={"tightest": Decimal(32), "opposite": Decimal(60)})
    assert "look for uneven chain wear" in advise(apart).notes[0]
    assert advise(replace(apart, window_mm=None)).notes == ()


def test_of_two_places_that_would_run_taut_both_are_named() -> None:
    assert predict(FOUND, 12, 12).notes == (
        "the chain would run taut at tightest: do not turn so far",
        "the chain would run taut at opposite: do not turn so far",
    )


# --- allowing for the nut -------------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=40)
@given(st.integers(-150, 150), st.integers(-30, 30), st.integers(-2, 4), st.integers(-2, 4), st.booleans())
def test_what_the_nut_will_do_is_added_once(moved: int, apart: int, left: int, right: int, holds: bool) -> None:
    nut = Nut(movement_mm=moved / 1000, difference_mm=Fraction(apart, 100), holds=holds)
    plain, allowing = FOUND, replace(FOUND, nut=nut)
    tight, before = predict(allowing, left, right), predict(snug(allowing), left, right)
    if holds:  # the readings have it already: the same with the nut tight, less before it is
        assert tight.expected_slack_mm == predict(plain, left, right).expected_slack_mm
    else:
        assert before.expected_slack_mm == predict(plain, left, right).expected_slack_mm
    assert tight.expected_difference_mm - before.expected_difference_mm == nut.difference_mm
    slacks = before.expected_slack_mm["tightest"], tight.expected_slack_mm["tightest"]
    if None not in slacks:
        assert COURIER.movement(slacks[0] or 0, slacks[1] or 0) == pytest.approx(nut.movement_mm, abs=2e-4)
    assert tight.fits <= before.fits


def test_allowing_for_a_nut_that_pulls_rearward_leaves_more_slack_before_it() -> None:
    allowing = replace(FOUND, nut=Nut(movement_mm=0.15))
    answer = advise(allowing)
    assert answer.fits
    assert answer.axle_movement_mm < advise(FOUND).axle_movement_mm


# --- on a limit -----------------------------------------------------------------------------------------------------


ON_THE_LIMIT = AdviceInput(
    drive=Drive.from_teeth(17, 42, Decimal("15.875"), 650, Decimal("1.25")),
    slack_mm={"": Decimal("32.1")},
    governing="",
    aim_mm=Fraction(32),
    window_mm=(Fraction(31), Fraction("32.1")),
    difference_mm=Decimal("0.1"),
    agree_within_mm=Fraction(1, 10),
)


@pytest.mark.parametrize("slack", ["31", "31.1", "32.1", "31.000000001"])
def test_what_lies_on_a_limit_fits_as_it_is(slack: str) -> None:
    case = replace(ON_THE_LIMIT, slack_mm={"": Decimal(slack)})
    found = predict(case, 0, 0)
    assert found.fits
    assert found.expected_slack_mm[""] == float(slack)
    assert advise(replace(case, agree_within_mm=Fraction(1, 10))).fits


@pytest.mark.parametrize("slack", ["32.1000000001", "30.9999999999"])
def test_a_reading_beyond_a_limit_by_less_than_noise_does_not_fit_as_it_is(slack: str) -> None:
    assert not predict(replace(ON_THE_LIMIT, slack_mm={"": Decimal(slack)}), 0, 0).fits


def test_sides_beyond_what_is_to_agree_never_fit_by_noise() -> None:
    assert not predict(replace(ON_THE_LIMIT, difference_mm=Decimal("0.1000000001")), 0, 0).fits


def test_a_forecast_on_a_limit_fits_though_its_arithmetic_is_in_floats() -> None:
    after = predict(ON_THE_LIMIT, 1, 1).expected_slack_mm[""]
    assert after is not None
    for off, fits in ((Fraction(0), True), (Fraction(1, 10**10), True), (Fraction(1, 10**8), False)):
        low = Fraction(after) + off
        assert predict(replace(ON_THE_LIMIT, window_mm=(low, low + 1)), 1, 1).fits is fits

"""What the advice says besides its turns: whole sentences for a person."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from logger.advice.advice import advise
from tests.logger.advice.cases import FOUND, known


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


def test_a_side_that_is_left_alone_has_no_play_to_take_up() -> None:
    case = replace(FOUND, slack_mm={"tightest": Decimal("35.9")}, difference_mm=Decimal("-0.31"))
    answer = advise(replace(case, last_turns=(Fraction(1), Fraction(-1))))
    assert (float(answer.left), float(answer.right)) == (2.0, 0.0)
    assert answer.notes == ()


def test_no_slack_at_all_is_doubted_and_slackened() -> None:
    answer = advise(replace(FOUND, slack_mm={"tightest": Decimal(0)}, difference_mm=None))
    assert answer.left < 0
    assert any("may be tighter than can be read" in note for note in answer.notes)


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

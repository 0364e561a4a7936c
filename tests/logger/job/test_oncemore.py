"""A value too near a limit is read once more: one further repeat, and what it may contradict."""

from fractions import Fraction

import pytest

from logger import events as ev
from logger.job import words
from tests.logger.job.measuring import DIFFERENCE, WINDOW, near, walk_on
from tests.logger.walk import Walk, described, shipped


def test_a_value_within_its_uncertainty_of_a_limit_is_asked_for_once_more_and_the_mean_counts() -> None:
    walk = near()
    assert (walk.key, walk.prompt.more, walk.prompt.number, walk.prompt.of) == ("measure:gap again", True, 2, 2)
    assert words.headline(walk.job, walk.prompt) == "Belt sag: once more"
    assert "one further repeat" in words.detail(walk.job, walk.prompt)[-1]
    walk.read("39.10 mm")
    assert isinstance(walk.last, ev.ReadingTaken)
    assert walk.last.answers is not None
    assert walk.last.answers.more
    judged = walk.verdicts["gap"]
    assert (judged.value, judged.attempts, walk.key) == (Fraction("39.3"), 1, "measure:ends.left")


@pytest.mark.parametrize("reading", ["26.01 mm", "38.99 mm", "41.01 mm", "32.00 mm"])
def test_away_from_the_limits_nothing_further_is_asked(reading: str) -> None:
    assert not near(reading).prompt.more


def test_without_uncertainty_nothing_further_is_asked_even_on_the_limit() -> None:
    walk = walk_on().say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm"))
    assert not walk.read("40.00 mm").prompt.more


def test_a_failing_value_too_is_read_once_more_before_anything_is_turned() -> None:
    walk = near("40.50 mm")
    assert (walk.verdict("gap"), walk.key) == ("high", "measure:gap again")
    walk.read("39.40 mm")
    assert (walk.verdict("gap"), walk.key) == ("inside", "measure:ends.left")


def test_a_further_difference_has_two_halves_and_waits_for_the_second() -> None:
    walk = walk_on(f'{DIFFERENCE}{WINDOW}\nmethod_u = "0.5 mm"').read("100.00 mm", "139.50 mm")
    assert (walk.key, walk.prompt.number, walk.prompt.of) == ("measure:gap/down again", 3, 4)
    assert words.headline(walk.job, walk.prompt) == "Belt sag: down, once more"
    walk.read("101.00 mm")
    assert (walk.key, walk.verdict("gap"), walk.prompt.number) == ("measure:gap/up again", "waiting", 4)
    assert walk.verdicts["gap"].reason == "up still to take"
    walk.read("140.10 mm")
    assert (walk.verdicts["gap"].value, walk.key) == (Fraction("39.3"), "measure:ends.left")


def test_a_further_repeat_that_was_begun_and_disturbed_is_given_up() -> None:
    walk = walk_on(f'{DIFFERENCE}{WINDOW}\nmethod_u = "0.5 mm"').read("100.00 mm", "139.50 mm", "101.00 mm")
    walk.loosened("bolts")
    assert (walk.verdict("gap"), walk.key) == ("stale", "measure:gap/down")


def test_a_further_repeat_that_was_begun_and_became_suspect_is_given_up() -> None:
    walk = walk_on(f'{DIFFERENCE}{WINDOW}\nmethod_u = "0.5 mm"').read("100.00 mm", "139.50 mm", "101.00 mm")
    assert (walk.key, walk.prompt.more) == ("measure:gap/up again", True)
    walk.say(ev.Suspected(tool="C1", zero=2, readings=(walk.seq,), why="dropped"))
    assert (walk.key, walk.prompt.more, walk.prompt.number) == ("measure:gap/down", False, 1)


def test_a_further_repeat_taken_back_is_asked_again_and_half_of_it_takes_the_other_along() -> None:
    walk = near().read("39.10 mm").back()
    assert (walk.verdicts["gap"].value, walk.key) == (Fraction("39.5"), "measure:gap again")
    walk = walk_on(f'{DIFFERENCE}{WINDOW}\nmethod_u = "0.5 mm"').read(
        "100.00 mm", "139.50 mm", "101.00 mm", "140.00 mm"
    )
    walk.back()
    assert (walk.verdicts["gap"].value, walk.key) == (Fraction("39.5"), "measure:gap/down again")


def test_an_override_ends_the_asking() -> None:
    assert near("40.50 mm").override("gap").key == "measure:ends.left"


def test_a_further_repeat_far_off_is_unsteady_and_the_value_begun_anew() -> None:
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.5 mm"\nrepeats = 2\nspread_within = "0.3 mm"').read("39.50 mm", "39.60 mm")
    assert walk.prompt.more
    walk.read("38.00 mm")
    assert (walk.verdict("gap"), walk.key, walk.prompt.number) == ("unsteady", "measure:gap", 1)


def test_a_pair_near_its_limit_is_read_once_more_at_both_places() -> None:
    walk = walk_on(ends='agree_within = "0.5 mm"\nmethod_u = "0.1 mm"').read("32.00 mm", "36.45 mm", "36.00 mm")
    assert walk.key == "measure:ends.left again"
    assert walk.read("36.40 mm").key == "measure:ends.right again"
    walk.read("36.10 mm")
    assert walk.verdicts["ends.agreement"].value == Fraction("0.375")
    assert not walk.prompt.more


def test_a_place_that_is_left_for_later_rounds_is_not_read_once_more() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        _obey(walk)
    walk.read("100.0 mm", "132.0 mm", "100.0 mm", "139.0 mm")
    assert walk.key == "measure:slack.opposite/taut down again"


def _obey(walk: Walk) -> None:
    if walk.prompt.kind == "note":
        walk.note("12480")
    elif walk.prompt.kind == "measure":
        walk.read("101.8 mm")
    else:
        walk.confirm()


def test_a_further_repeat_that_contradicts_the_first_is_unsteady() -> None:
    """Two readings of u = 0.8 mm differ by no more than 2 √2 u = 2.26 mm in 95 of 100 cases (GUM 5.1.2)."""
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.8 mm"')
    low = "24.5 mm"
    assert walk.read(low).prompt.more
    assert walk.read("32.0 mm").verdict("gap") == "unsteady"
    assert "the repeat differs by 7.5 mm" in walk.verdicts["gap"].reason
    assert walk.prompt.kind == "measure"
    assert not walk.prompt.more
    again = walk_on(f'{WINDOW}\nmethod_u = "0.8 mm"').read(low, "26.0 mm")
    assert (again.verdict("gap"), again.verdicts["gap"].text) == ("inside", "25.25")


def test_a_further_repeat_that_contradicts_says_by_how_much() -> None:
    walk = walk_on(f'{WINDOW}\nmethod_u = "0.8 mm"').read("24.5 mm", "32.0 mm")
    said = "the repeat differs by 7.5 mm, more than what is known of tool and method allows"
    assert walk.verdicts["gap"].reason == said


def test_a_further_repeat_may_differ_by_just_what_is_known() -> None:
    """A method of u = 0.5 mm alone: two readings may differ by 2 √2 x 0.5 = 1.414 213 6 mm (GUM 5.1.2)."""
    for second, verdict in (("38.085786 mm", "inside"), ("38.085785 mm", "unsteady")):
        walk = walk_on(f'{WINDOW}\nmethod_u = "0.5 mm"')
        walk.say(described("C1", "caliper", accuracy="0 mm", resolution="0 mm")).read("39.500 mm")
        assert walk.read(second).verdict("gap") == verdict


def test_a_check_that_was_let_pass_asks_for_no_further_repeat() -> None:
    walk = near("40.50 mm")
    assert walk.verdicts["gap"].more
    assert not walk.override("gap").verdicts["gap"].more

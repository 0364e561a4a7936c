"""What was expected beside what was measured, and a machine that answers the other way round."""

from decimal import Decimal

import pytest

from logger.advice.cameout import DIFFERS, SWAPPED
from logger.advice.plan import REREAD, STANDS
from logger.job.happened import happened
from tests.logger.advice.adjusting import at_adjust, slack_45
from tests.logger.walk import SMALL, Walk, sheet_of


def test_what_was_expected_stands_beside_what_was_measured() -> None:
    walk = slack_45().confirm()
    expected = walk.plan
    assert expected is not None
    assert expected.given is not None
    walk.turned("1", "1").confirm()
    turn = walk.job.turns[-1]
    assert turn.expected is not None
    walk.read("100.0 mm", f"{100 + Decimal(turn.expected.slack['tightest']) + 1} mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    slack = found.came_out["slack"]
    assert (slack.outcome, round(slack.off_mm, 1)) == ("agrees", 1.0)
    assert found.came_out["difference"].outcome == "agrees"


def test_a_machine_that_answers_the_other_way_round_stops_the_advice_until_it_is_read_again() -> None:
    walk = slack_45("37.5 mm").confirm()
    walk.turned("0", "4").confirm()  # right rearward: left minus right should fall from 1.5 to 0.8
    walk.read("100.0 mm", "143.0 mm", "38.3 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.came_out["difference"].outcome == "opposite"
    assert found.advice is None
    assert "left and right may be swapped" in found.stop
    assert found.carried == ("opposite",)
    walk.back("doubtful").read("36.0 mm")
    assert _stopped(walk) == "take back what was read since"  # of one side alone, nothing is known
    for _ in range(3):
        walk.back("doubtful")
    walk.read("100.0 mm", "143.0 mm", "38.3 mm", "36.0 mm")
    assert _stopped(walk) == "it was read again and stands"  # no slip of the hand: the machine is the other way round
    for _ in range(3):
        walk.back("read wrong")
    walk.read("100.0 mm", "142.0 mm", "36.8 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.advice is not None


UNEXPECTED = "what was read is not what the turns should give"


def _stopped(walk: Walk) -> str:
    """Why nothing is advised: what is to be done about it."""
    found = walk.plan
    assert found is not None
    assert found.advice is None
    said = (REREAD, STANDS)
    return next(each for each in said if found.stop.endswith(each)).partition(":")[0].partition(",")[0]


def _the_other_way_round() -> Walk:
    """The sides came out the other way round, and stand after all was read again."""
    walk = slack_45("37.5 mm").confirm()
    walk.turned("0", "4").confirm().read("100.0 mm", "143.0 mm", "38.3 mm", "36.0 mm")
    for _ in range(3):
        walk.back("doubtful")
    return walk.read("100.0 mm", "143.0 mm", "38.3 mm", "36.0 mm")


def test_turns_that_tell_nothing_do_not_start_the_advice_again() -> None:
    walk = _the_other_way_round().turned("0", "0").confirm()
    walk.read("100.0 mm", "143.0 mm", "100.0 mm", "145.0 mm", "38.3 mm", "36.0 mm")
    assert _stopped(walk) == "take back what was read since"
    found = walk.plan
    assert found is not None
    assert [each.causes for each in found.came_out.values()] == [(), ()], "of this turning nothing is to be told"
    assert found.stop == f"{UNEXPECTED}: {'; '.join(dict.fromkeys((*DIFFERS, *SWAPPED)))}; {REREAD}"


def test_a_turning_of_ones_own_that_comes_out_right_starts_the_advice_again() -> None:
    walk = _the_other_way_round().turned("0", "4")
    turn = walk.job.turns[-1]
    assert turn.expected is not None
    assert turn.expected.difference == "1.63"
    walk.confirm().read("100.0 mm", "136.0 mm", "100.0 mm", "138.0 mm", "37.6 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.came_out["difference"].outcome == "agrees"
    assert found.advice is not None


def test_a_run_that_should_be_taut_and_grew_is_the_other_way_round() -> None:
    walk = at_adjust("100.0 mm", "117.0 mm", "100.0 mm", "118.0 mm", "36.0 mm", "36.0 mm").confirm()
    walk.turned("2", "2")
    turn = walk.job.turns[-1]
    assert turn.expected is not None
    assert (turn.expected.slack, turn.expected.taut) == ({}, ("tightest", "opposite"))
    assert "The chain would run taut by that (tightest and opposite)" in happened(walk.job, walk.last)
    walk.confirm().read("100.0 mm", "122.0 mm", "36.0 mm", "36.0 mm")
    found = walk.plan
    assert found is not None
    assert found.came_out["slack"].outcome == "opposite"
    assert found.came_out["slack"].counted == "the chain taut"
    assert found.advice is None


def test_turns_that_leave_slack_warn_of_nothing() -> None:
    walk = slack_45().confirm().turned("1", "1")
    assert happened(walk.job, walk.last) == "Turned: left 1 flat tighter, right 1 flat tighter"


def test_a_slack_that_is_a_difference_has_to_be_read_twice_in_full_before_a_surprise_stands() -> None:
    walk = slack_45("37.5 mm").confirm().turned("0", "4").confirm().read("100.0 mm", "143.0 mm", "38.3 mm", "36.0 mm")
    walk.back("doubtful").back("doubtful").read("38.3 mm", "36.0 mm")
    assert _stopped(walk) == "take back what was read since", "its two halves are one reading"


@pytest.mark.parametrize("places", ["", 'places = ["mark"]'])
def test_a_surprise_stands_also_where_the_slack_has_one_place_that_governs_by_itself(places: str) -> None:
    text = SMALL.replace('title = "Belt sag"', f'title = "Belt sag"\n{places}')
    walk = Walk(sheet_of(text)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned("2", "2").confirm()
    found = walk.read("60.0 mm", "32.0 mm", "32.0 mm").plan
    assert found is not None
    assert found.stop == f"{UNEXPECTED}: {'; '.join(SWAPPED)}; {REREAD}"
    assert (found.called, found.carried) == ("belt sag", ())
    walk.back("doubtful").back("doubtful").back("doubtful").read("60.0 mm", "32.0 mm", "32.0 mm")
    assert _stopped(walk) == "it was read again and stands"


def test_both_sides_have_to_be_read_again_before_a_surprise_stands() -> None:
    walk = slack_45("37.5 mm").confirm().turned("0", "4").confirm().read("100.0 mm", "143.0 mm", "38.3 mm")
    walk.back("doubtful").back("doubtful").read("100.0 mm", "143.0 mm", "38.3 mm", "36.0 mm")
    assert _stopped(walk) == "take back what was read since", "the right side was read once only"

"""The ten verdicts, and the checks that are neither measured nor torqued."""

from typing import get_args

import pytest

from logger import events as ev
from logger.eventparts import Verdict
from logger.job.rules import FAILS, PASSES, WANTS, standing
from tests.logger.job.measuring import gap_read
from tests.logger.job.torquing import why
from tests.logger.walk import SMALL, Walk, answer, sheet_of, shipped


def test_each_verdict_is_in_one_of_three_sets() -> None:
    assert sorted((*PASSES, *FAILS, *WANTS)) == sorted(get_args(Verdict))


@pytest.mark.parametrize(
    ("verdicts", "said"),
    [
        (("inside", "done", "waiting"), "2 of 3 pass"),
        (("inside", "done", "overridden"), "2 of 3 pass, 1 overridden"),
        ((), "0 of 0 pass"),
    ],
)
def test_what_was_let_pass_is_not_counted_as_passing(verdicts: tuple[ev.Verdict, ...], said: str) -> None:
    assert standing(verdicts) == said


def test_a_note_and_a_confirmation_are_done_until_disturbed() -> None:
    walk = Walk(shipped())
    assert (walk.verdict("mileage"), walk.verdict("ready")) == ("waiting", "waiting")
    walk.note("12480")
    assert (walk.verdict("mileage"), walk.verdicts["mileage"].text) == ("done", "12480")
    while walk.key != "close":
        answer(walk)
    assert walk.loosened("axle_nut").verdict("pin") == "stale"


def test_an_override_stands_in_front_of_every_verdict_and_says_what_it_was() -> None:
    walk = gap_read("45.0 mm").override("gap", note="new chain ordered")
    judged = walk.verdicts["gap"]
    assert (judged.verdict, judged.text) == ("overridden", "45.0")
    assert judged.reason == "Robin: new chain ordered (was high)"


def test_a_confirmation_and_a_note_say_what_they_wait_for() -> None:
    walk = Walk(shipped())
    assert why(walk, "ready") == ("waiting", "not confirmed yet")
    assert why(walk, "mileage") == ("waiting", "not written down yet")
    while walk.key != "close":
        answer(walk)
    assert why(walk, "pin") == ("done", "")
    assert why(walk.loosened("axle_nut"), "pin") == ("stale", "disturbed since it was confirmed")


def test_a_note_that_was_disturbed_is_asked_again_and_keeps_what_it_said() -> None:
    note = '[[step]]\nid = "felt"\nkind = "note"\ntitle = "How it runs"\nask = "Write down how it runs."\n'
    text = SMALL.replace('"cap", "runs"]', '"cap", "runs", "felt"]') + note
    walk = Walk(sheet_of(text))
    while walk.key != "note:felt":
        answer(walk)
    assert why(walk.note("smooth"), "felt") == ("done", "")
    walk.turned()
    judged = walk.verdicts["felt"]
    assert (judged.verdict, judged.reason, judged.text) == ("stale", "disturbed since it was written down", "smooth")

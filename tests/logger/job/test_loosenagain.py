"""What is said to come first after a loosening is what is asked for first."""

import pytest

from logger.job import words
from logger.job.loosenagain import comes_first, first_line, loosen_again
from logger.sheets.sheet import TorqueStep
from tests.logger.walk import SMALL, Walk, sheet_of, shipped

ALONE = SMALL.replace('disturbs = ["gap", "ends", "runs"]', 'disturbs = ["runs"]')
ONE = SMALL.replace('disturbs = ["gap", "ends", "runs"]', 'disturbs = ["ends", "runs"]')


def _bolts(walk: Walk) -> TorqueStep:
    return next(step for step in walk.sheet.torques)


@pytest.mark.parametrize(
    ("text", "next_", "said"),
    [
        (SMALL, "measure:gap", "loosen it; Belt sag and Bearing position come first, then torque again"),
        (ONE, "measure:ends.left", "loosen it; Bearing position comes first, then torque again"),
        (ALONE, "torque:bolts.left", "loosen it and torque again"),
    ],
    ids=["two steps", "one", "none"],
)
def test_what_is_said_to_come_first_is_what_is_asked_for_once_it_is_loose(text: str, next_: str, said: str) -> None:
    walk = Walk(sheet_of(text)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm").loosened().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("48.0 N·m")
    assert walk.key == "slacken:bolts.left"
    assert walk.verdicts["bolts.left"].reason == f"above the window: {said}"
    assert walk.loosened().key == next_


def test_the_prompt_to_loosen_says_it_before_the_window() -> None:
    walk = Walk(sheet_of(SMALL)).confirm().read("45.0 mm", "32.0 mm", "32.0 mm").loosened().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm").pull("48.0 N·m")
    assert words.detail(walk.job, walk.prompt)[:2] == (
        "A torque starts from loose: loosen it.",
        "Loosened, Belt sag and Bearing position come first: pull it only when asked.",
    )


def test_the_names_are_the_titles_up_to_their_first_comma() -> None:
    walk = Walk(shipped())
    assert comes_first(walk.job, _bolts(walk)) == "Chain slack and Axle position"
    assert first_line(walk.job, _bolts(walk)) == "Chain slack and Axle position come first"
    assert loosen_again(walk.job, _bolts(walk)).startswith("loosen it; Chain slack and Axle position come first")

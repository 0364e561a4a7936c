"""Guarded decisions on a fastener, and wrenches that may not decide."""

from decimal import Decimal
from fractions import Fraction

import pytest

from logger import events as ev
from logger.job import verdictwords, words
from logger.job.facts import Pull
from logger.job.torquefit import budget
from logger.metrology.uncertainty import true_torque_interval
from tests.logger.job.torquing import (
    AGAIN,
    STRAIGHT,
    loose,
    reason,
    with_battery,
)
from tests.logger.walk import Walk, bolted, described, sheet_of

# --- guarded decisions ----------------------------------------------------------------------------------------------


def test_a_pull_inside_the_window_but_too_near_a_limit_is_unsure_and_to_be_loosened() -> None:
    """±4 % of the true torque: U = 2 x 37 x 0.04 / (1 - 0.04^2) / sqrt 3 = 1.7117 N·m, and 0.0577 of 0.1 N·m."""
    walk = loose(bolted(decision="guarded"), described(accuracy="4 %")).pull("37.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert (judged.verdict, judged.to_loosen) == ("unsure", True)
    assert judged.decision is not None
    assert judged.decision.expanded == pytest.approx(1.7127, abs=1e-4)
    assert judged.decision.acceptance is not None
    assert float(judged.decision.acceptance.low or 0) == pytest.approx(37.7127, abs=1e-4)
    assert f"{AGAIN} into ≈ 37.8 N·m to ≈ 42.2 N·m" in judged.reason
    assert walk.prompt.kind == "slacken"
    assert verdictwords.settle(walk.job, judged).startswith("Bearing bolts, left: too near a limit to tell")
    walk.override("bolts.left")
    assert walk.verdict("bolts.left") == "overridden"


@pytest.mark.parametrize(
    ("more", "peak", "verdict"),
    [
        ('guard = "2 N·m"', "37.9 N·m", "unsure"),
        ('guard = "2 N·m"', "38.0 N·m", "inside"),
        ('guard = "2 N·m"\nguarded = "high"', "36.0 N·m", "inside"),
        ('guard = "2 N·m"\nguarded = "high"', "42.1 N·m", "unsure"),
        ('guard = "2 N·m"\nguarded = "low"', "42.1 N·m", "inside"),
        ('guard = "2 N·m"', "35.9 N·m", "waiting"),
        ('guard = "2 N·m"', "44.1 N·m", "high"),
    ],
)
def test_the_guard_band_of_the_sheet_at_the_limits_it_names(more: str, peak: str, verdict: str) -> None:
    walk = loose(bolted(decision="guarded", more=more), described()).pull(peak)
    assert walk.verdict("bolts.left") == verdict


def test_a_simple_decision_tells_margin_and_chance_and_gives_the_verdict_of_the_limits() -> None:
    walk = loose(bolted(), described(accuracy="4 %")).pull("36.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert judged.verdict == "inside"
    assert judged.margin == 0
    assert judged.decision is not None
    assert judged.decision.chance == pytest.approx(0.5, abs=0.001)
    assert judged.unknown == ("calibration",)


def test_of_a_wrench_nothing_is_stated_of_there_is_no_chance_and_no_guarded_verdict() -> None:
    walk = loose(bolted()).pull("40.0 N·m")
    assert (walk.verdict("bolts.left"), walk.verdicts["bolts.left"].decision) == ("inside", None)
    walk = loose(bolted(decision="guarded")).pull("40.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert (judged.verdict, judged.to_loosen) == ("waiting", True)
    assert judged.reason.startswith("nothing states how far W1 may be off")


def _pull(peak: str, **more: object) -> Pull:
    fields: dict[str, object] = {"seq": 1, "peak": Decimal(peak), "most": Decimal(peak), "text": peak, "unit": "N·m"}
    made = {"tool": "W1", "asked": True} | fields | more
    return Pull(**made)  # type: ignore[arg-type]


def test_the_accuracy_of_a_wrench_is_of_the_true_torque() -> None:
    """ISO 6789: 100 indicated at ±4 % is 96.154 to 104.167 N·m true; u is that width / sqrt 12 (GUM 4.3.8)."""
    walk = Walk(sheet_of(bolted())).say(described(accuracy="4 %", resolution="0 N·m"))
    low, high = true_torque_interval(100, Fraction(4, 100))
    assert budget(walk.job, _pull("100")).u == pytest.approx(float(high - low) / 12**0.5)


def test_what_sampling_can_miss_counts_where_the_largest_sample_decides() -> None:
    walk = Walk(sheet_of(bolted())).say(described(accuracy="0 N·m", resolution="0 N·m"))
    assert budget(walk.job, _pull("40", under_read=Decimal("1.5"))).u == pytest.approx(1.5 / 3**0.5)
    assert budget(walk.job, _pull("40")).u == 0


def test_an_adapter_makes_the_uncertainty_larger_with_the_torque() -> None:
    walk = Walk(sheet_of(bolted())).say(described(accuracy="1 N·m", resolution="0 N·m"))
    plain, long = budget(walk.job, _pull("40")), budget(walk.job, _pull("40", adapter=_STRAIGHT))
    assert long.u == pytest.approx(plain.u * 1.1)
    assert long.assumed == "the lengths of the adapter taken as exact"


def test_what_a_verdict_takes_for_granted_is_told_with_it() -> None:
    walk = loose(bolted(adapter=STRAIGHT), described()).pull("36.4 N·m")
    judged = walk.verdicts["bolts.left"]
    assert (judged.verdict, judged.unknown) == ("inside", ("calibration",))
    assert judged.assumed == "the lengths of the adapter taken as exact"
    assert loose(bolted(), described()).pull("40.0 N·m").verdicts["bolts.left"].assumed == ""


_STRAIGHT = ev.Adapter(wrench="400 mm", extension="40 mm")


# --- fitness ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stated", "battery", "more", "reason"),
    [
        ({"due": "2026-01-04"}, 80, "", "the calibration of W1 was due on 2026-01-04"),
        ({}, 5, "", "the battery of W1 was at 5 %"),
        ({"resolution": "2.1 N·m"}, 80, "", "W1 reads in steps of 2.1 N·m, more than a quarter of the window"),
    ],
)
def test_a_wrench_that_is_not_fit_gives_no_verdict_and_says_why(
    stated: dict[str, str], battery: int, more: str, reason: str
) -> None:
    walk = loose(bolted(more=more), described(**stated)).say(with_battery(battery)).pull("40.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert (judged.verdict, judged.to_loosen) == ("waiting", True)
    assert judged.reason == f"{reason}: {AGAIN} with another tool, or override with a note"


@pytest.mark.parametrize(
    ("stated", "battery", "more", "warning"),
    [
        ({"due": "2026-01-05"}, 80, "", ()),
        ({"resolution": "0.8 N·m"}, 16, "", ()),
        ({}, 15, "", ("the battery of W1 was at 15 %: change it soon",)),
        ({"resolution": "0.81 N·m"}, 80, "", ("W1 reads in steps of 0.81 N·m, more than a tenth of the window",)),
        ({"resolution": "3 N·m"}, 80, "allow_coarse = true", ("W1 reads in steps of 3 N·m, more than a quarter",)),
    ],
)
def test_what_is_worth_a_warning_changes_no_verdict(
    stated: dict[str, str], battery: int, more: str, warning: tuple[str, ...]
) -> None:
    walk = loose(bolted(more=more), described(**stated)).say(with_battery(battery)).pull("40.0 N·m")
    judged = walk.verdicts["bolts.left"]
    assert judged.verdict == "inside"
    assert len(judged.warnings) == len(warning)
    assert all(said.startswith(begun) for said, begun in zip(judged.warnings, warning, strict=True))


def test_another_wrench_settles_it_and_a_battery_that_falls_later_does_not_undo_a_pull() -> None:
    walk = loose(bolted(), described()).say(with_battery(60)).pull("40.0 N·m").say(with_battery(4))
    assert walk.verdict("bolts.left") == "inside"
    walk.pull("40.0 N·m")
    assert walk.verdict("bolts.right") == "waiting"


def test_what_a_wrench_can_tell_is_said_with_the_prompt_before_the_pull() -> None:
    """At the aim, 40 N·m: U = 2 x 40 x 0.04 / 0.9984 / sqrt 3 = 1.8505, and 0.0577 of 0.1 N·m: 1.8514 N·m."""
    walk = loose(bolted(decision="guarded"), described(accuracy="4 %"))
    lines = words.detail(walk.job, walk.prompt)
    assert "To be sure with W1: ≈ 37.9 N·m to ≈ 42.1 N·m at the fastener" in lines
    walk.say(with_battery(4))
    assert "Not with W1: the battery of W1 was at 4 %." in words.detail(walk.job, walk.prompt)
    walk.say(with_battery(9))
    assert "Mind: the battery of W1 was at 9 %: change it soon." in words.detail(walk.job, walk.prompt)
    walk.say(described(accuracy="12 %"))
    assert "Not with W1: it cannot tell any torque in this window." in words.detail(walk.job, walk.prompt)
    simple = loose(bolted(), described(accuracy="4 %"))
    assert not any("W1" in line for line in words.detail(simple.job, simple.prompt))


def test_what_would_be_near_enough_is_named_and_a_tool_that_can_tell_nothing_too() -> None:
    """Acceptance limits of the pull itself: 36 + 1.7127 and 44 - 1.7127 N·m, rounded inwards to its tenths."""
    near = loose(bolted(decision="guarded"), described(accuracy="4 %")).pull("37.0 N·m")
    into = f"too near a limit to tell: {AGAIN} into ≈ 37.8 N·m to ≈ 42.2 N·m"
    assert reason(near) == f"{into}, or override with a note"
    blunt = loose(bolted(decision="guarded"), described(accuracy="12 %")).pull("40.0 N·m")
    nothing = "W1 cannot tell any torque in this window: torque with a better tool, or override with a note"
    assert (blunt.verdict("bolts.left"), reason(blunt)) == ("unsure", nothing)

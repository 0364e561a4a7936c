"""What is said of a wrench before it is pulled."""

import pytest

from logger import events as ev
from logger.job import words
from logger.job.torquewords import peak_text
from tests.logger.walk import Walk, bolted, described, sheet_of

UNWEIGHED = (
    "Bearing bolts is decided guarded: only a wrench with a stated accuracy (tools add) can, and none took part yet."
)
CALIPER = described("C1", "caliper", accuracy="0.01 mm", resolution="0.01 mm")
SURE = "To be sure with W1"


def _to_the_torque(text: str, *stated: ev.ToolDescribed) -> Walk:
    walk = Walk(sheet_of(text))
    for each in (CALIPER, *stated):
        walk.say(each)
    walk.confirm().read("45.0 mm", "32.0 mm", "32.0 mm").confirm().turned().confirm()
    walk.read("32.0 mm", "32.0 mm", "32.0 mm")
    assert walk.prompt.kind == "torque"
    return walk


@pytest.mark.parametrize(
    ("guarded", "said"),
    [("both", "≈ 37.9 N·m to ≈ 42.1 N·m"), ("low", "at least ≈ 37.9 N·m"), ("high", "at most ≈ 42.1 N·m")],
)
def test_only_a_guarded_end_is_one_to_be_sure_of(guarded: str, said: str) -> None:
    """At the aim, 40 N·m: U = 1.8514 N·m, from a window of 36 to 44 N·m; what is not guarded is a coin's toss."""
    text = bolted(decision="guarded", more=f'guarded = "{guarded}"')
    walk = _to_the_torque(text, described(accuracy="4 %", resolution="0.1 N·m"))
    (line,) = (each for each in words.detail(walk.job, walk.prompt) if each.startswith(SURE))
    assert line == f"{SURE}: {said} at the fastener"


def test_before_anything_is_loosened_it_is_said_that_nothing_can_decide() -> None:
    walk = Walk(sheet_of(bolted(decision="guarded"))).say(CALIPER).confirm()
    walk.read("45.0 mm", "32.0 mm", "32.0 mm")
    assert walk.key == "loosen:adjust"
    assert UNWEIGHED in words.detail(walk.job, walk.prompt)
    walk.say(described(accuracy="4 %"))
    assert UNWEIGHED not in words.detail(walk.job, walk.prompt)


@pytest.mark.parametrize("more", ["", 'guard = "1 N·m"'])
def test_where_the_sheet_needs_no_figures_of_a_wrench_nothing_is_said(more: str) -> None:
    walk = _to_the_torque(bolted(decision="guarded" if more else "simple", more=more))
    assert UNWEIGHED not in words.detail(walk.job, walk.prompt)


def test_a_wrench_of_which_nothing_is_stated_decides_nothing_guarded() -> None:
    walk = _to_the_torque(bolted(decision="guarded"))
    assert UNWEIGHED in words.detail(walk.job, walk.prompt)
    walk.say(described().model_copy(update={"accuracy": None}))
    assert UNWEIGHED in words.detail(walk.job, walk.prompt)


@pytest.mark.parametrize(
    ("sent", "shown"), [("40.0000", "40.00 N·m"), ("40.0", "40.0 N·m"), ("40", "40 N·m"), ("40.0010", "40.001 N·m")]
)
def test_zeros_that_nobody_counts_are_on_the_trail_and_not_in_the_words(sent: str, shown: str) -> None:
    walk = _to_the_torque(bolted()).pull(f"{sent} N·m")
    event = next(each.event for each in reversed(walk.records) if isinstance(each.event, ev.PullTaken))
    judged = walk.verdicts["bolts.left"]
    assert event.own_peak == sent
    assert peak_text(event) == f"{judged.text} {judged.unit}" == shown


def test_a_torque_that_is_too_high_is_shown_with_the_same_digits() -> None:
    judged = _to_the_torque(bolted()).pull("50.0000 N·m").verdicts["bolts.left"]
    assert (judged.verdict, judged.text) == ("high", "50.00")

"""A moment as lines: also what changes no verdict but should be known."""

from logger import events as ev
from tui import lines

from .hand import CALIPER, TOO_SLACK, Hand, at

_COARSE = ev.ToolDescribed(
    tool=CALIPER, tool_kind="caliper", stated_by="toolbook", accuracy="0.03 mm", resolution="0.2 mm"
)


async def test_a_warning_stands_under_its_verdict(hand: Hand) -> None:
    hand.bench.describe = lambda *_: _COARSE
    await hand.until(at("wear"))
    before = hand.bench.moment.verdicts
    await hand.reads("101.8")
    said = lines.verdicts(before, hand.bench.moment)
    # 0.2 mm against a window of 1.3 mm is more than a tenth and less than a quarter (rule of ten, common practice)
    assert any(line.startswith("Mind: Chain wear over 8 pitches: ") and "steps of 0.2" in line for line in said)


async def test_wear_is_told_with_what_is_left(hand: Hand) -> None:
    await hand.until(at("wear"))
    before = hand.bench.moment.verdicts
    await hand.reads("101.8")
    assert lines.verdicts(before, hand.bench.moment)[-1].endswith("80 % of the wear limit is left.")


async def test_expected_stands_beside_measured_with_its_uncertainty(hand: Hand) -> None:
    await hand.until(lambda prompt: prompt.kind == "turn", slack=TOO_SLACK, sides=("36.20", "36.95") * 2)
    await hand.bench.turned_as_advised()
    await hand.until(lambda prompt: prompt.kind == "turn", slack=("300.0", "343.1") * 2, sides=("36.60", "37.30") * 3)
    plan = hand.bench.moment.plan
    assert plan is not None
    (slack, fits), (sides, _) = lines.came_out(plan)
    assert slack.startswith("The last turning: slack expected 33.3 ± 2.7 mm, measured 43.1 mm, not as expected: ")
    assert not fits
    assert sides.endswith("not as expected."), "likely causes are named once"

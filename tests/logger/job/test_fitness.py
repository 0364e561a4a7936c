"""What is said of tools before a job begins."""

from logger.events import SideOffset, ToolDescribed
from logger.job.fitness import outlooks
from logger.sheets.sheet import Sheet
from tests.logger.walk import SMALL, described, sheet_of, shipped


def _guarded(*changes: tuple[str, str]) -> Sheet:
    text = SMALL.replace('about = "', 'decision = "guarded"\nabout = "')
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return sheet_of(text)


CALIPER = described("C1", "caliper", accuracy="0.01 mm", resolution="0.01 mm")
FINE = described(accuracy="1 %", resolution="0.1 N·m")
BOLTS = ('window = ["36 N·m", "44 N·m"]\naim = "40 N·m"', 'window = ["95 N·m", "105 N·m"]\naim = "100 N·m"')


def _wrench(accuracy: str) -> ToolDescribed:
    return described(accuracy=accuracy, resolution="0.1 N·m")


def test_a_wrench_of_4_percent_against_a_window_of_5_leaves_almost_nothing_to_aim_at() -> None:
    """Own arithmetic: a guard of 2 x 4 % / sqrt 3 leaves 99.60 to 100.36 % of nominal, shown rounded inwards."""
    tool = described(accuracy="4 %", resolution="0.1 N·m").model_copy(update={"of_reference": True})
    (said,) = outlooks(_guarded(BOLTS), [tool, CALIPER])
    left = "Of the window 95.0 N·m to 105.0 N·m only ≈ 99.7 N·m to ≈ 100.3 N·m is left to aim at"
    assert said.startswith(f"Bearing bolts with W1: {left}")
    assert "would leave half of the window" in said


def test_a_wrench_of_6_percent_leaves_nothing_and_one_of_1_percent_serves() -> None:
    (said,) = outlooks(_guarded(BOLTS), [_wrench("6 %"), CALIPER])
    assert "cannot decide the window" in said
    assert outlooks(_guarded(BOLTS), [_wrench("1 %"), CALIPER]) == ()


def test_the_simple_rule_can_always_decide() -> None:
    assert outlooks(sheet_of(SMALL.replace(*BOLTS)), [_wrench("6 %")]) == ()


def test_a_method_that_is_too_rough_is_named_rather_than_the_tool() -> None:
    sheet = _guarded(('agree_within = "0.5 mm"', 'agree_within = "0.5 mm"\nmethod_u = "0.3 mm"'))
    (said,) = outlooks(sheet, [described("C1", "caliper", accuracy="0.03 mm", resolution="0.01 mm"), FINE])
    assert said.startswith("Bearing position, agreement with C1: This tool cannot decide")


def test_only_one_guarded_limit_leaves_more() -> None:
    sheet = _guarded(BOLTS, ('ask = "Pull to 40."', 'ask = "Pull to 40."\nguarded = "low"'))
    assert outlooks(sheet, [_wrench("4 %"), CALIPER]) == ()


def test_coarse_and_overdue_tools_are_told_under_any_rule() -> None:
    tool = described("C1", "caliper", resolution="0.3 mm", due="2026-01-04")
    said = outlooks(shipped(), [tool], on="2026-01-05")
    assert said[0] == "C1: its calibration was due on 2026-01-04; use another tool or have it calibrated."
    assert "Axle position, left and right, agreement with C1: steps of 0.3 mm" in said[2]
    assert "it gives no verdict there; use a finer tool" in said[2]
    assert "a finer tool would be better" in said[1]
    assert not [each for each in outlooks(shipped(), [tool], on="2026-01-04") if "calibration" in each]


def test_a_figure_that_cannot_be_used_and_one_that_is_missing_are_told() -> None:
    wrong = described("C1", "caliper", accuracy="0.03 N·m", resolution="fine", calibration_k="two", calibration_u="1 %")
    said = outlooks(shipped(), [wrong])
    assert said == (
        'C1: its accuracy "0.03 N·m" cannot be used here; state it as a figure in mm.',
        'C1: its resolution "fine" cannot be used here; state it as a figure in mm.',
        'C1: its coverage factor "two" is no number above 0.',
    )
    bare = ToolDescribed(tool="C2", tool_kind="caliper", stated_by="program")
    assert outlooks(_guarded(), [CALIPER, FINE, bare]) == (
        "C2: no accuracy is stated, so it cannot decide; state it in the toolbook.",
    )


def test_a_tool_that_the_sheet_has_no_use_for_is_not_spoken_of() -> None:
    assert (
        outlooks(
            _guarded(), [CALIPER, FINE, described("T1", "tape", resolution="500 mm", due="2000-01-01")], on="2026-01-05"
        )
        == ()
    )


def test_what_nothing_states_a_figure_for_cannot_be_decided_guarded() -> None:
    bare = ToolDescribed(tool="W2", tool_kind="torque wrench", stated_by="program")
    said = outlooks(_guarded(), [CALIPER, bare])
    assert said[0] == (
        "Bearing bolts: the decision is guarded, and nothing states how far a torque wrench may be off; "
        "enter it with its accuracy (tools add), or state a guard in the sheet."
    )
    assert [each.partition(":")[0] for each in outlooks(_guarded(), [])] == [
        "Belt sag, Bearing position",
        "Bearing bolts",
    ]
    counts = described("C1", "caliper", resolution="0.01 mm").model_copy(update={"accuracy": None})
    assert outlooks(_guarded(), [counts, FINE])[0].startswith("Belt sag: the decision")  # a difference needs no more


def test_a_figure_of_the_sheet_is_enough_to_decide_by() -> None:
    sheet = _guarded(
        ('window = ["25 mm", "40 mm"]', 'window = ["25 mm", "40 mm"]\nguard = "0.5 mm"'),
        ('agree_within = "0.5 mm"', 'agree_within = "0.5 mm"\nguard = "0.1 mm"'),
        ('ask = "Pull to 40."', 'ask = "Pull to 40."\nguard = "1 N·m"'),
    )
    assert outlooks(sheet, []) == ()
    assert outlooks(sheet_of(SMALL), []) == ()


def test_what_the_sides_of_a_machine_differ_by_is_worth_no_more_than_it_is_known() -> None:
    sheet = _guarded(('agree_within = "0.5 mm"', 'agree_within = "0.5 mm"\nmethod_u = "0.05 mm"'))
    assert outlooks(sheet, [CALIPER, FINE]) == ()
    rough = SideOffset(value="1.0 mm", u="0.3 mm", how="string along both wheels, 2 May")
    (said,) = outlooks(sheet, [CALIPER, FINE], offset=rough)
    assert said.startswith("Bearing position, agreement with C1: This tool cannot decide")
    assert outlooks(sheet, [CALIPER, FINE], offset=rough.model_copy(update={"u": "0.01 mm"})) == ()

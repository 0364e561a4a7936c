"""The two calculators of the command line: their figures beside published and worked ones, and every refusal."""

import json
import math
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy
from scipy.stats import norm  # type: ignore[import-untyped]

from tui import cli
from tui.exits import Exit

TEETH = "--front-teeth 17 --rear-teeth 42 --pitch 15.875mm --centre 650mm"
M8 = f"advise {TEETH} --thread 1.25mm"
TORQUE = "judge --window 90Nm 106Nm --u 1.2Nm"
FLAT = 1.25 / 6


def answer(capsys: pytest.CaptureFixture[str], line: str) -> dict[str, Any]:
    assert cli.main([*shlex.split(line), "--json"]) == Exit.DONE
    found = json.loads(capsys.readouterr().out)
    assert isinstance(found, dict)
    return found


def plain(capsys: pytest.CaptureFixture[str], line: str) -> str:
    assert cli.main(shlex.split(line)) == Exit.DONE
    out, err = capsys.readouterr()
    assert err == ""
    return out


# --- advise ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("before", "after"),
    [(40, 32.595), (35, 26.218), (30, 19.037)],
)
def test_one_flat_brings_what_a_model_of_moving_contact_points_says(
    capsys: pytest.CaptureFixture[str], before: int, after: float
) -> None:
    """An independent model (17/42, 15.875, M8x1.25): taut upper run, chain tangent to both circles.

    It holds the links and lets the centre distance follow (650.6 at 40 mm, 650.9 at 30): worth up to 0.1 %.
    """
    found = answer(capsys, f"{M8} --slack {before}mm --aim 30mm --if-left 1 --if-right 1")
    assert found["expected"]["slack_mm"] == pytest.approx(after, rel=0.001)
    assert found["axle_movement_mm"] == pytest.approx(FLAT, rel=1e-12)
    assert found["left"] == found["right"] == {"flats": 1}
    assert found["expected"]["difference_mm"] == 0


def test_one_flat_too_many_runs_taut(capsys: pytest.CaptureFixture[str]) -> None:
    """The same model: 20 mm of slack is gone after 0.155 mm of axle movement, and a flat is 0.208 mm."""
    line = f"{M8} --slack 20mm --aim 30mm --if-left 1 --if-right 1"
    assert cli.main([*line.split(), "--json"]) == Exit.DONE
    out, err = capsys.readouterr()
    assert json.loads(out)["expected"]["slack_mm"] is None
    assert err == "The chain would run taut at the tightest place: do not turn so far.\n"
    assert "Expect slack: none, the chain is taut" in plain(capsys, line)


def test_the_answer_has_exactly_the_promised_keys_unrounded(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, f"{M8} --slack 40mm --aim 32mm")
    radii = [15.875 / (2 * math.sin(math.pi / teeth)) for teeth in (17, 42)]
    span = math.sqrt(650**2 - (radii[1] - radii[0]) ** 2)
    excess = math.hypot(span, 40) - span - 2 * FLAT * span / 650
    slack = math.sqrt((span + excess) ** 2 - span**2)
    assert found == {
        "left": {"flats": 1},
        "right": {"flats": 1},
        "axle_movement_mm": pytest.approx(FLAT, rel=1e-12),
        "expected": {"slack_mm": pytest.approx(slack, rel=1e-9), "difference_mm": 0},
    }


def test_a_measured_run_serves_where_teeth_are_unknown(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, "advise --span 646.937948mm --thread 1.25mm --slack 40mm --aim 32mm")
    # parallel runs: cos beta is 1 instead of 0.995289
    excess = math.hypot(646.937948, 40) - 646.937948 - 2 * FLAT
    assert found["expected"]["slack_mm"] == pytest.approx(math.sqrt(excess * (2 * 646.937948 + excess)), rel=1e-9)


@pytest.mark.parametrize("grows", ["rearward", "forward"])
def test_left_and_right_are_each_others_mirror(capsys: pytest.CaptureFixture[str], grows: str) -> None:
    case = f"{M8} --slack 45mm --aim 32mm --window 25mm 40mm --agree-within 0.2mm --grows {grows}"
    one = answer(capsys, f"{case} --left 36.2mm --right 36.8mm")
    other = answer(capsys, f"{case} --left 36.8mm --right 36.2mm")
    assert (one["left"], one["right"]) == (other["right"], other["left"])
    assert one["left"] != one["right"]
    assert one["expected"]["slack_mm"] == pytest.approx(other["expected"]["slack_mm"], rel=1e-12)
    assert one["expected"]["difference_mm"] == pytest.approx(-other["expected"]["difference_mm"], abs=1e-12)
    # the side whose gauge reads less is the further forward one, if it grows rearward: that side is tightened more
    more, less = ("left", "right") if grows == "rearward" else ("right", "left")
    assert one[more]["flats"] > one[less]["flats"]
    sense = 1 if grows == "rearward" else -1
    by_hand = -0.6 + sense * FLAT * (one["left"]["flats"] - one["right"]["flats"])
    assert one["expected"]["difference_mm"] == pytest.approx(by_hand, abs=1e-12)
    assert abs(by_hand) <= 0.2


@pytest.mark.parametrize(("left", "right"), [("1", "0"), ("0", "1"), ("-1", "2"), ("1/2", "-0.5")])
def test_given_turns_tell_the_difference_left_minus_right(
    capsys: pytest.CaptureFixture[str], left: str, right: str
) -> None:
    flats = {"1/2": 0.5}.get(left, 0.0) or float(left), float(right)
    for sides, before in (("", 0.0), ("--left 36.0mm --right 36.5mm", -0.5)):
        found = answer(capsys, f"{M8} --slack 50mm --aim 32mm {sides} --if-left {left} --if-right {right}")
        assert (found["left"]["flats"], found["right"]["flats"]) == flats
        assert found["expected"]["difference_mm"] == pytest.approx(before + FLAT * (flats[0] - flats[1]), abs=1e-12)
        assert found["axle_movement_mm"] == pytest.approx(FLAT * sum(flats) / 2, abs=1e-12)


def test_inches_are_the_same_job(capsys: pytest.CaptureFixture[str]) -> None:
    metric = answer(capsys, f"{M8} --slack 38.1mm --aim 31.75mm")
    inches = "--pitch 0.625in --centre 65cm --thread 1250um --slack 1.5in --aim 1.25in"
    assert answer(capsys, f"advise --front-teeth 17 --rear-teeth 42 {inches}") == metric


def test_flats_per_turn_divides_the_thread(capsys: pytest.CaptureFixture[str]) -> None:
    line = f"{M8} --slack 40mm --aim 32mm --flats-per-turn 4 --if-left 1 --if-right 1"
    assert answer(capsys, line)["axle_movement_mm"] == 1.25 / 4


def test_plain_advice_is_read_aloud(capsys: pytest.CaptureFixture[str]) -> None:
    line = f"{M8} --slack 40mm --aim 32mm --window 25mm 40mm --left 36.2mm --right 36.6mm --agree-within 0.5mm"
    assert plain(capsys, line) == (
        "Turn left: 2 flats tighter.\n"
        "Turn right: leave it.\n"
        "The axle moves ≈ 0.208 mm rearward; one flat moves its side ≈ 0.208 mm.\n"
        "Expect slack: ≈ 32.6 mm (now 40.0 mm, aim 32.0 mm, window 25.0 mm to 40.0 mm).\n"
        "Expect left minus right: ≈ 0.02 mm (now -0.40 mm, agree within 0.50 mm).\n"
        "That fits.\n"
        "The middle of the axle is taken for the line of the sprocket.\n"
        "Assumed: the axle is further rearward when a side's gauge reads more; if not so, give --grows forward.\n"
    )


@pytest.mark.parametrize("grows", ["rearward", "forward"])
def test_which_way_a_gauge_grows_is_said_only_where_it_was_assumed(
    capsys: pytest.CaptureFixture[str], grows: str
) -> None:
    line = f"{M8} --slack 40mm --aim 32mm"
    sides = f"{line} --left 36.2mm --right 36.6mm"
    assert "Assumed" not in plain(capsys, f"{sides} --grows {grows}")
    assert "middle of the axle" in plain(capsys, f"{sides} --grows {grows}")
    assert "ssumed" not in plain(capsys, line)


def test_what_does_not_fit_is_still_an_answer(capsys: pytest.CaptureFixture[str]) -> None:
    said = plain(capsys, f"{M8} --slack 40mm --aim 30mm --window 29.9mm 30.1mm")
    assert "That does not fit." in said
    assert "Nothing fits; nearest is slack" in said
    said = plain(capsys, f"{M8} --slack 40mm --aim 50mm --window 25mm 35mm --if-left 1 --if-right 1")
    assert "If turned left: 1 flat tighter." in said
    assert "The aim lies outside the window, and the window comes first." in said


# --- judge ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "chance", "simple", "guarded"),
    [
        ("88", 0.04779, "low", "unsure"),
        ("90", 0.5, "inside", "unsure"),
        ("92", 0.95221, "inside", "unsure"),
        ("92.4", 0.97725, "inside", "inside"),
        ("93", 0.99379, "inside", "inside"),
        ("98", 1.0, "inside", "inside"),
        ("103.6", 0.97725, "inside", "inside"),
        ("103.61", 0.976796, "inside", "unsure"),
        ("104", 0.95221, "inside", "unsure"),
        ("106", 0.5, "inside", "unsure"),
        ("108.4", 0.02275, "high", "unsure"),
        ("108.41", 0.022304, "high", "high"),
        ("87.6", 0.02275, "low", "unsure"),
        ("87.59", 0.022304, "low", "low"),
    ],
)
def test_a_torque_window_by_both_rules(
    capsys: pytest.CaptureFixture[str], value: str, chance: float, simple: str, guarded: str
) -> None:
    """Window 90 to 106 N·m, u = 1.2: chances worked out by hand, and again by scipy.stats."""
    for rule, word, zone in (("simple", simple, [90, 106]), ("guarded", guarded, [92.4, 103.6])):
        found = answer(capsys, f"{TORQUE} --value {value}Nm --decision {rule}")
        assert list(found) == ["verdict", "margin", "chance_inside", "u", "U", "acceptance", "unknown"]
        assert (found["verdict"], found["u"], found["U"]) == (word, 1.2, 2.4)
        assert found["acceptance"] == zone
        assert found["chance_inside"] == pytest.approx(chance, abs=6e-6)
        published = norm.cdf(106, float(value), 1.2) - norm.cdf(90, float(value), 1.2)
        assert found["chance_inside"] == pytest.approx(published, abs=1e-12)
        assert found["margin"] == pytest.approx(min(float(value) - 90, 106 - float(value)), abs=1e-12)


def test_a_published_two_sided_example(capsys: pytest.CaptureFixture[str]) -> None:
    """JCGM 106:2012 7.4: y 13.6, u 1.8, limits 12.5 and 16.3 (there a viscosity): 0.66."""
    found = answer(capsys, "judge --window 12.5mm 16.3mm --value 13.6mm --u 1.8mm")
    assert found["chance_inside"] == pytest.approx(0.662630, abs=1e-6)
    assert found["margin"] == pytest.approx(1.1)


def test_a_guard_as_given_means_the_guarded_rule(capsys: pytest.CaptureFixture[str]) -> None:
    """Guard band 1.65 u: acceptance 91.98 to 104.02."""
    found = answer(capsys, f"{TORQUE} --value 92Nm --guard 1.98Nm")
    assert found["acceptance"] == [91.98, 104.02]
    assert found["verdict"] == "inside"
    assert answer(capsys, f"{TORQUE} --value 91.97Nm --guard 1.98Nm")["verdict"] == "unsure"


def test_a_torque_accuracy_in_percent_is_of_the_true_torque(capsys: pytest.CaptureFixture[str]) -> None:
    """ISO 6789: the truth behind 98 lies in 98/1.04 to 98/0.96; u is that width / sqrt 12 (GUM 4.3.8)."""
    found = answer(capsys, "judge --window 90Nm 106Nm --value 98Nm --accuracy 4%")
    assert found["u"] == pytest.approx((98 / 0.96 - 98 / 1.04) / math.sqrt(12), rel=1e-12)
    length = answer(capsys, "judge --window 90mm 106mm --value 98mm --accuracy '4 %'")
    assert length["u"] == pytest.approx(98 * 0.04 / math.sqrt(3), rel=1e-12)


def test_a_guarded_percentage_draws_each_limit_in_by_its_own_share(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, "judge --window 95Nm 105Nm --value 100Nm --accuracy 2% --decision guarded")
    share = 2 * (1 / 0.98 - 1 / 1.02) / math.sqrt(12)
    assert found["acceptance"] == pytest.approx([95 / (1 - share), 105 / (1 + share)], rel=1e-11)
    assert found["acceptance"] == pytest.approx([97.2, 102.6], abs=0.06)


def test_parts_are_combined_and_named(capsys: pytest.CaptureFixture[str]) -> None:
    line = "judge --window 25mm 35mm --value 26.2mm --accuracy 0.03mm --resolution 0.01mm --method-u 0.7mm"
    u = math.sqrt(0.03**2 / 3 + 0.01**2 / 12 + 0.7**2)
    found = answer(capsys, f"{line} --decision guarded")
    assert found["u"] == pytest.approx(u, rel=1e-12)
    assert found["U"] == pytest.approx(2 * u, rel=1e-12)
    assert found["acceptance"] == pytest.approx([25 + 2 * u, 35 - 2 * u], abs=1e-11)
    assert found["verdict"] == "unsure"
    said = plain(capsys, line)
    assert "accuracy 0.0173 (±0.03, rectangular); resolution 0.00289 (0.01 / √12); method 0.7 (stated)" in said


def test_limits_are_taken_into_the_unit_of_the_value(capsys: pytest.CaptureFixture[str]) -> None:
    """60 and 72 lbf·ft are 81.3491 and 97.6189 N·m (exact factor 1.3558179483314004): 81.34 fails, 81.35 passes."""
    found = answer(capsys, "judge --window 60lbf·ft 72lbf·ft --value 81.34Nm")
    assert found["verdict"] == "low"
    assert found["acceptance"] == pytest.approx([81.349076899884, 97.618892279861], abs=1e-9)
    assert answer(capsys, "judge --window 60lbf·ft 72lbf·ft --value 81.35Nm")["verdict"] == "inside"
    assert answer(capsys, "judge --window -20thou 20thou --value -0.508mm --u 1thou")["u"] == pytest.approx(0.0254)


def test_a_window_too_narrow_for_the_tool_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    line = "judge --window 95Nm 105Nm --value 100Nm --accuracy 5% --decision guarded"
    found = answer(capsys, line)
    assert (found["verdict"], found["acceptance"]) == ("unsure", None)
    said = plain(capsys, line)
    assert "nothing is left of the window" in said
    assert "A tool of ±2.1 N·m (±2.1 %) or better would leave half of the window." in said


def test_plain_judgement_is_read_aloud(capsys: pytest.CaptureFixture[str]) -> None:
    assert plain(capsys, f"{TORQUE} --value 93Nm --decision guarded") == (
        "93 N·m is inside: window 90.00 N·m to 106.00 N·m, margin +3.00 N·m.\n"
        "Chance of being truly inside: 99.4 %.\n"
        "u = 1.2 N·m, U = 2.4 N·m (k = 2).\n"
        "Acceptance zone (guarded, w = U): 92.40 N·m to 103.60 N·m.\n"
    )
    assert "No uncertainty was stated" in plain(capsys, "judge --window -0.5mm 0.5mm --value -0.2mm")


# --- refusals -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("advise", "required: --thread, --slack, --aim. See: evenhand advise --help"),
        ("judge", "required: --window, --value. See: evenhand judge --help"),
        ("advise --thread 1mm --slack 40mm --aim 32mm", "--front-teeth, --rear-teeth, --pitch, --centre missing. Give"),
        (f"advise {TEETH} --span 600mm --thread 1mm --slack 40mm --aim 32mm", "--span was given beside teeth"),
        ("advise --front-teeth 17 --thread 1mm --slack 4mm --aim 3mm", "--rear-teeth, --pitch, --centre missing"),
        (f"{M8} --slack 40mm --aim 32mm --left 36mm", "--left was given without --right. Read both"),
        (f"{M8} --slack 40mm --aim 32mm --right 36mm", "--right was given without --left. Read both"),
        (f"{M8} --slack 40mm --aim 32mm --if-right 1", "--if-right was given without --if-left. Give both"),
        (
            f"{M8} --slack 40mm --aim 32mm --if-left 1/0 --if-right 1",
            "--if-left: '1/0' is not a number of flats. Write",
        ),
        (f"{M8} --slack 40mm --aim 32mm --if-left 1e9 --if-right 1", "--if-left: '1e9' is not a number of flats."),
        (f"{M8} --slack 40 --aim 32mm", "--slack: '40' has no unit. Allowed: mm"),
        (f"{M8} --slack 40Nm --aim 32mm", "--slack: N·m is a torque and mm is a length"),
        (f"{M8} --slack 40,5mm --aim 32mm", "--slack: '40,5mm' is not a quantity. Write a point"),
        (f"{M8} --slack -1mm --aim 32mm", "Slack at the tightest place is -1 mm. It cannot be below zero"),
        (f"{M8} --slack 40mm --aim -1mm", "--aim -1mm is below zero."),
        (f"{M8} --slack 40mm --aim 32mm --window 40mm 25mm", "--window: The window 40 mm to 25 mm is upside down."),
        (f"{M8} --slack 40mm --aim 32mm --window 40mm", "expected 2 arguments"),
        (f"{M8} --slack 40mm --aim 32mm --flats-per-turn 0", "--flats-per-turn 0 is out of range."),
        (f"{M8} --slack 40mm --aim 32mm --pitch 0mm", "--pitch 0mm is not above zero."),
        (f"{M8} --slack 40mm --aim 32mm --thread -1mm", "--thread -1mm is not above zero."),
        (f"{M8} --slack 40mm --aim 32mm --rear-teeth 4", "--rear-teeth 4 is out of range."),
        (f"{M8} --slack 40mm --aim 32mm --centre 100mm", "touch. It must be more than 149.4 mm."),
        (f"{M8} --slack 40mm --aim 32mm --grows sideways", "invalid choice: 'sideways'"),
        (f"{TORQUE} --value 93mm", "--window: N·m is a torque and mm is a length"),
        (f"{TORQUE} --value 93", "--value: '93' has no unit."),
        (f"{TORQUE} --value 93Nm --accuracy 2%", "--u is the whole uncertainty, yet --accuracy was given too."),
        (f"{TORQUE} --value 93Nm --guard 1Nm --decision simple", "--guard was given with --decision simple"),
        (f"{TORQUE} --value 93Nm --guard -1Nm", "--guard -1Nm is below zero."),
        ("judge --window 90Nm 106Nm --value 93Nm --accuracy -2%", "--accuracy: -2% is negative. Write"),
        ("judge --window 90Nm 106Nm --value 93Nm --accuracy 100%", "--accuracy: A torque accuracy of 100% says"),
        ("judge --window 90Nm 106Nm --value 93Nm --resolution 1%", "--resolution: % is a share and N·m is a torque"),
    ],
)
def test_bad_input_is_one_sentence_and_a_remedy(capsys: pytest.CaptureFixture[str], line: str, says: str) -> None:
    assert cli.main(line.split()) == Exit.BAD_INPUT
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err
    assert err.count("\n") == 1


UNSIGNED = st.just("")
LARGE = st.sampled_from(["0.00000000001", "0.001", "1", "7.5", "40", "640", "99999", "999999999999"])


@st.composite
def lines(draw: st.DrawFn) -> list[str]:
    def mm(sign: SearchStrategy[str] = UNSIGNED) -> str:
        return f"{draw(sign)}{draw(LARGE)}mm"

    signs = st.sampled_from(["", "-"])
    if draw(st.booleans()):
        words = ["judge", "--window", mm(signs), mm(), "--value", mm(signs), "--accuracy", draw(LARGE) + "%"]
        return [*words, "--resolution", mm(), "--decision", draw(st.sampled_from(["simple", "guarded"]))]
    run = ["--span", mm()] if draw(st.booleans()) else [*TEETH.split(), "--centre", mm()]
    words = ["advise", *run, "--thread", mm(), "--slack", mm(), "--aim", mm(), "--window", mm(), mm()]
    return [*words, "--left", mm(signs), "--right", mm(signs), "--agree-within", mm()]


@settings(deadline=None, max_examples=40, derandomize=True)
@given(lines(), st.booleans())
def test_no_size_of_figure_is_a_fault(words: list[str], as_json: bool) -> None:
    assert cli.main([*words, *(["--json"] if as_json else [])]) in (Exit.DONE, Exit.BAD_INPUT)


# --- as a process ---------------------------------------------------------------------------------------------------


def run(line: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "tui.cli", *shlex.split(line)], capture_output=True, text=True)


def test_as_processes_they_answer_and_touch_no_trail(own_home: Path) -> None:
    turned = run(f"{M8} --slack 40mm --aim 32mm --json")
    assert (turned.returncode, turned.stderr) == (0, "")
    assert json.loads(turned.stdout)["expected"]["slack_mm"] == pytest.approx(32.595, abs=0.006)
    outside = run(f"{TORQUE} --value 80Nm --json")
    assert (outside.returncode, outside.stderr) == (0, "")
    assert json.loads(outside.stdout)["verdict"] == "low"
    wrong = run(f"{TORQUE} --value 80")
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert wrong.stderr.startswith("--value: '80' has no unit.")
    assert not list(own_home.iterdir())


def test_the_most_flats_at_once_say_how_far_they_stay_from_the_aim(capsys: pytest.CaptureFixture[str]) -> None:
    figures = ["advise", "--span", "554mm", "--thread", "1mm", "--aim", "32mm", "--slack"]
    assert cli.main([*figures, "400mm"]) == Exit.DONE
    told = capsys.readouterr().out
    assert "12 flats are the most to turn at once, and the slack stays ≈ 361.1 mm from the aim: turn them" in told
    assert cli.main([*figures, "40mm"]) == Exit.DONE
    assert "the most to turn at once" not in capsys.readouterr().out


def test_judge_tells_what_nobody_stated(capsys: pytest.CaptureFixture[str]) -> None:
    bare = plain(capsys, "judge --window -0.5mm 0.5mm --value -0.2mm")
    assert "Chance" not in bare
    assert "U =" not in bare
    part = plain(capsys, "judge --window 25mm 40mm --value 38.5mm --method-u 0.8mm")
    assert "if U is no more than that." in part
    assert "U = at least 1.6 mm" in part
    whole = plain(capsys, "judge --window 25mm 40mm --value 38.5mm --method-u 0.8mm --accuracy 0.03mm")
    assert "at least" not in whole
    assert "accuracy" in answer(capsys, "judge --window 25mm 40mm --value 38.5mm --method-u 0.8mm")["unknown"]
    assert answer(capsys, "judge --window 25mm 40mm --value 38.5mm --u 0.8mm")["unknown"] == []


def test_a_share_of_nothing_and_a_share_of_nearly_all_are_told_as_what_they_are(
    capsys: pytest.CaptureFixture[str],
) -> None:
    said = plain(capsys, "judge --window 0Nm 10Nm --value 0Nm --accuracy 4%")
    assert "A share of 0 is nothing: state the accuracy as a figure" in said
    assert "No uncertainty was stated" not in said
    assert "counts as certain" in plain(capsys, "judge --window 0Nm 10Nm --value 5Nm --u 0Nm")
    assert "±99.999999 % of the true" in plain(capsys, "judge --window 90Nm 106Nm --value 98Nm --accuracy 99.999999%")


def test_the_true_torque_behind_an_indicated_one_is_not_symmetric(capsys: pytest.CaptureFixture[str]) -> None:
    """ISO 6789: the relative error is of the reference value (definition from memory): 98/1.04 to 98/0.96."""
    words = ["judge", "--window", "90Nm", "106Nm", "--value", "98Nm", "--accuracy", "4%"]
    assert cli.main([*words, "--json"]) == Exit.DONE
    assert json.loads(capsys.readouterr().out)["true_interval"] == pytest.approx([98 / 1.04, 98 / 0.96])
    assert cli.main(words) == Exit.DONE
    assert "The true torque lies between ≈ 94.23 N·m and ≈ 102.08 N·m" in capsys.readouterr().out

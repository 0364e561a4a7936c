"""`advise` beside an independent model, worked figures, and what it says aloud."""

import json
import math

import pytest

from tests.tui.commands.calculated import FLAT, M8, answer, plain
from tui import cli
from tui.exits import Exit


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


def test_the_most_flats_at_once_say_how_far_they_stay_from_the_aim(capsys: pytest.CaptureFixture[str]) -> None:
    figures = ["advise", "--span", "554mm", "--thread", "1mm", "--aim", "32mm", "--slack"]
    assert cli.main([*figures, "400mm"]) == Exit.DONE
    told = capsys.readouterr().out
    assert "12 flats are the most to turn at once, and the slack stays ≈ 361.1 mm from the aim: turn them" in told
    assert cli.main([*figures, "40mm"]) == Exit.DONE
    assert "the most to turn at once" not in capsys.readouterr().out

"""`judge` beside published and worked figures, and what it says aloud."""

import json
import math

import pytest
from scipy.stats import norm  # type: ignore[import-untyped]

from tests.tui.commands.calculated import TORQUE, answer, plain
from tui import cli
from tui.exits import Exit


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

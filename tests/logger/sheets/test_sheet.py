"""The models of a sheet, and what the shipped sheet promises the person who works by it."""

from fractions import Fraction

import pytest
from pydantic import ValidationError

from logger.sheets.drive import drive_of
from logger.sheets.sheet import AdjustStep, ConfirmStep, MeasureStep, Sheet, TorqueStep, check_id
from logger.sheets.store import open_sheet
from logger.units import parse_quantity


@pytest.fixture(scope="module")
def courier() -> Sheet:
    return open_sheet("courier-chain").sheet


def measure(**more: object) -> MeasureStep:
    """Return a measure step with the least that one needs, and more."""
    least = {"id": "gap", "kind": "measure", "title": "Gap", "tools": ["caliper"], "ask": "Measure it."}
    return MeasureStep.model_validate(least | more)


@pytest.mark.parametrize(
    ("name", "vital"),
    [
        (
            "courier-chain",
            ("ready", "chain", "axle_nut", "lock_nuts.left", "lock_nuts.right", "pin", "brake", "finish"),
        ),
        (
            "parcel-conveyor",
            (
                *("locked", "chain", "bolts.left_front", "bolts.right_rear", "bolts.right_front", "bolts.left_rear"),
                *("marks", "guards", "run"),
            ),
        ),
    ],
)
def test_what_a_life_hangs_on(name: str, vital: tuple[str, ...]) -> None:
    sheet = open_sheet(name).sheet
    assert tuple(check for check in sheet.checks if sheet.is_vital(check)) == vital


@pytest.mark.parametrize(
    ("name", "steps"),
    [("courier-chain", ("chain", "tightest", "brake", "finish")), ("parcel-conveyor", ("chain", "tightest", "guards"))],
)
def test_where_hands_come_near_a_chain_that_moves_it_is_said(name: str, steps: tuple[str, ...]) -> None:
    sheet = open_sheet(name).sheet
    for step in steps:
        assert any("sprocket" in caution for caution in sheet.by_id[step].cautions), step


def test_the_pin_step_is_true_of_a_nut_that_nobody_touched(courier: Sheet) -> None:
    pin = courier.by_id["pin"]
    assert isinstance(pin, ConfirmStep)
    untouched = [item for item in pin.items if item.startswith("Nut untouched: ")]
    assert untouched == ["Nut untouched: the old split pin whole, and in its slot"]
    assert not [item for item in pin.items if "new" in item and not item.startswith("Nut loosened: ")]


def test_the_order_of_the_courier_sheet(courier: Sheet) -> None:
    assert [f"{step.id} {step.kind}" for step in courier.step] == [
        "mileage note",
        "identity note",
        "ready confirm",
        "chain confirm",
        "wear measure",
        "tightest confirm",
        "slack measure",
        "sides measure",
        "adjust adjust",
        "axle_nut torque",
        "lock_nuts torque",
        "pin confirm",
        "brake confirm",
        "finish confirm",
    ]
    assert courier.order["axle_nut"] == 9


def test_the_checks_of_the_courier_sheet(courier: Sheet) -> None:
    assert courier.checks == (
        *("mileage", "identity", "ready", "chain", "wear", "tightest"),
        *("slack.tightest", "slack.opposite", "sides.agreement"),
        *("axle_nut", "lock_nuts.left", "lock_nuts.right", "pin", "brake", "finish"),
    )


def test_titles_can_be_read_from_two_metres(courier: Sheet) -> None:
    assert all(len(step.title) <= 34 for step in courier.step)


def test_the_sheet_says_that_its_figures_are_invented(courier: Sheet) -> None:
    assert "Invented figures" in courier.about
    assert "service manual" in courier.about
    assert any("invented" in caution for caution in courier.cautions)


def test_few_prompts_when_nothing_is_wrong(courier: Sheet) -> None:
    """At most fifteen readings, pulls among them, and eight confirmations and notes."""
    measured = sum(len(s.slots) * s.set_size for s in courier.step if isinstance(s, MeasureStep))
    pulls = sum(len(step.slots) for step in courier.torques)
    assert measured + pulls <= 15
    assert sum(step.kind in {"confirm", "note"} for step in courier.step) <= 8


def test_a_miscounted_pitch_is_held_in_doubt(courier: Sheet) -> None:
    wear = courier.by_id["wear"]
    assert isinstance(wear, MeasureStep)
    assert wear.window is not None
    assert wear.plausible is not None
    pitch = Fraction("12.7")
    low, high = (limit.value for limit in wear.window)
    assert low <= 8 * pitch <= high <= 8 * pitch * Fraction("1.01")
    assert not any(wear.plausible[0].value <= count * pitch <= wear.plausible[1].value for count in (7, 9))


def test_the_geometry_of_the_courier_sheet(courier: Sheet) -> None:
    """Tangent run by the right triangle of centre distance and pitch radii, R = p / (2 sin(pi / N))."""
    assert courier.drive is not None
    drive = drive_of(courier.drive)
    assert drive.span_mm == pytest.approx((554**2 - (84.972 - 30.542) ** 2) ** 0.5, abs=0.01)
    assert drive.per_flat_mm == Fraction(1, 6)
    assert drive.slack_kind == "total"


def test_what_adjusting_undoes_is_taken_again(courier: Sheet) -> None:
    (adjust,) = courier.adjusts
    assert isinstance(adjust, AdjustStep)
    assert set(courier.fasteners(adjust.loosen)) == {("axle_nut", ""), ("lock_nuts", "left"), ("lock_nuts", "right")}
    for torque in courier.torques:
        assert {"slack", "sides", "pin"} <= set(torque.disturbs)
    pin = courier.by_id["pin"]
    assert isinstance(pin, ConfirmStep)
    assert pin.locks == ("axle_nut", "lock_nuts")


def test_quantities_keep_what_was_written() -> None:
    step = measure(window=["25.0 mm", '1.5"'], method_u="0.80 mm")
    assert step.window == (parse_quantity("25.0 mm"), parse_quantity("1.5 in"))
    assert step.window[0].text == "25.0"
    assert step.method_u is not None
    assert step.method_u.text == "0.80"


def test_a_step_built_from_quantities_is_the_same() -> None:
    limits = (parse_quantity("1 mm"), parse_quantity("2 mm"))
    assert measure(window=limits) == measure(window=["1 mm", "2 mm"])


@pytest.mark.parametrize(
    ("more", "slots", "set_size", "checks"),
    [
        ({}, ("",), 1, ("gap",)),
        ({"places": ["a", "b"], "window": ["1 mm", "2 mm"], "repeats": 3}, ("a", "b"), 3, ("gap.a", "gap.b")),
        ({"places": ["a"], "takes": "difference", "parts": ["x", "y"], "larger": "y"}, ("a",), 2, ("gap.a",)),
        ({"places": ["a", "b"], "agree_within": "1 mm"}, ("a", "b"), 1, ("gap.agreement",)),
        (
            {"places": ["a", "b"], "agree_within": "1 mm", "window": ["1 mm", "2 mm"]},
            ("a", "b"),
            1,
            ("gap.a", "gap.b", "gap.agreement"),
        ),
    ],
)
def test_slots_and_checks(more: dict[str, object], slots: tuple[str], set_size: int, checks: tuple[str]) -> None:
    step = measure(**more)
    assert (step.slots, step.set_size, step.checks) == (slots, set_size, checks)


@pytest.mark.parametrize(
    "more",
    [
        {"repeats": 0},
        {"repeats": True},
        {"repeats": "3"},
        {"window": ["1 mm"]},
        {"window": [1, 2]},
        {"aim": 36.2},
        {"aim": "NaN mm"},
        {"tools": []},
        {"tools": ["hammer"]},
        {"places": ["Left"]},
        {"places": list("abcdefghi")},
        {"title": "x" * 61},
        {"datum": "x" * 301},
        {"hint": "x"},
    ],
)
def test_refused_by_the_model(more: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        measure(**more)


def test_fasteners_are_spelt_out(courier: Sheet) -> None:
    assert courier.fasteners(("lock_nuts.right", "axle_nut", "pin", "nothing")) == (
        ("lock_nuts", "right"),
        ("axle_nut", ""),
    )


def test_one_check_for_each_fastener(courier: Sheet) -> None:
    nut = courier.by_id["axle_nut"]
    assert isinstance(nut, TorqueStep)
    assert (nut.slots, nut.checks) == (("",), ("axle_nut",))
    assert check_id("slack", "") == "slack"
    assert check_id("slack", "tightest") == "slack.tightest"


def test_a_sheet_cannot_be_changed(courier: Sheet) -> None:
    with pytest.raises(ValidationError, match="frozen"):
        courier.revision = "2"  # type: ignore[misc]

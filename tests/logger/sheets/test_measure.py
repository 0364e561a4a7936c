"""Shares of a length, wear checks, zero checks and where the slack is measured: what is refused, and in which words."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.sheets.file import load_sheet
from logger.sheets.sheet import MeasureStep
from logger.units import parse_quantity, share

from .conveyor import SAG_AIM, SAG_WINDOW, edited, problems, warnings
from .edit import Change

ZERO = '[[step]] 3 "zero"'
WEAR = '[[step]] 5 "wear"'
SAG = '[[step]] 7 "sag"'
LENGTHS = "mm, µm, cm, m, in, ft, thou"
SHARE_OF = 'share_of = "1200 mm"'

REFUSED: list[tuple[str, list[Change], list[str]]] = [
    ("reference below zero", [('reference = "0 mm"', 'reference = "-1 mm"')], [
        f'{ZERO}, key reference: found "-1 mm"; write zero or more',
    ]),
    ("reference of torque", [('reference = "0 mm"', 'reference = "0 N·m"')], [
        f'{ZERO}, key reference: found "0 N·m", a torque; write a length ({LENGTHS})',
    ]),
    ("within nothing", [('within = "0.03 mm"', 'within = "0 mm"')], [
        f'{ZERO}, key within: found "0 mm"; write an amount above zero',
    ]),
    ("zero of a wrench", [('tools = ["caliper"]', 'tools = ["caliper", "setting wrench"]')], [
        f"{ZERO}, key tools: a setting wrench is read at torque steps only; name other tools",
    ]),
    ("a share of nothing", [(SHARE_OF, "")], [
        f'{SAG}, key window: found ["1.5%", "3%"], a share of nothing; '
        'write lengths, or add what it is a share of, such as share_of = "1200 mm"',
        f'{SAG}, key aim: found ["2%"], a share of nothing; '
        'write lengths, or add what it is a share of, such as share_of = "1200 mm"',
        f'{SAG}, key plausible: found ["0.4%", "10%"], a share of nothing; '
        'write lengths, or add what it is a share of, such as share_of = "1200 mm"',
    ]),
    ("a share of a torque", [(SHARE_OF, 'share_of = "12 N·m"')], [
        f'{SAG}, key share_of: found "12 N·m", a torque; write a length ({LENGTHS})',
    ]),
    ("a share of zero", [(SHARE_OF, 'share_of = "0 mm"')], [
        f'{SAG}, key share_of: found "0 mm"; write an amount above zero',
    ]),
    ("a share of a share", [(SHARE_OF, 'share_of = "50 %"')], [
        f'{SAG}, key share_of: found "50%", a share; write a length ({LENGTHS})',
    ]),
    ("nothing in shares", [
        (SAG_WINDOW, 'window = ["18 mm", "36 mm"]'),
        (SAG_AIM, 'aim = "24 mm"\n'),
        ('plausible = ["0.4 %", "10 %"]', 'plausible = ["5 mm", "120 mm"]'),
    ], [
        f"{SAG}, key share_of: nothing here is written in %; "
        "write window, aim or plausible in %, or leave share_of out",
    ]),
    ("shares upside down", [(SAG_WINDOW, 'window = ["3 %", "1.5 %"]')], [
        f"{SAG}, key window: 36 mm is not below 18 mm; write the lower limit first, and two different ones",
    ]),
    ("aim of shares outside", [(SAG_AIM, 'aim = "4 %"\n')], [
        f'{SAG}, key aim: found "48 mm", which is outside the window; write an aim from 18 mm to 36 mm',
    ]),
    ("agreement as a share", [('agree_within = "0.6 mm"', 'agree_within = "1 %"')], [
        f'[[step]] 8 "takeup", key agree_within: found "1%", a share; write a length ({LENGTHS})',
    ]),
    ("pins for pitches", [("pitches = 6", "pitches = 7")], [
        f"{WEAR}, key pitches: 7 pitches of 19.05 mm are 133.35 mm, outside the window 114.0 mm to 116.6 mm; "
        "count pitches, one less than pins",
    ]),
    ("wear without limits", [
        ('window = ["114.0 mm", "116.6 mm"]', ""),
    ], [f"{WEAR}, key pitches: a wear check needs limits; add window, or leave pitches out"]),
    ("wear without pitch", [
        ('front_teeth = 19\nrear_teeth = 19\npitch = "19.05 mm"\ncentre = "1200 mm"', 'span = "1200 mm"'),
    ], [
        f"{WEAR}, key pitches: a wear check needs the pitch of the chain; add [drive] with pitch, or leave pitches out",
    ]),
    ("measured off the run", [('slack_is = "sag"', 'slack_is = "sag"\noff_centre = "600 mm"')], [
        '[drive], key off_centre: found "600 mm", not within the run of 1200 mm; '
        "write how far from its middle the slack is measured",
    ]),
    ("off centre below zero", [('slack_is = "sag"', 'slack_is = "sag"\noff_centre = "-1 mm"')], [
        '[drive], key off_centre: found "-1 mm"; write zero or more',
    ]),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "expected"), [case[1:] for case in REFUSED], ids=[case[0] for case in REFUSED])
def test_refused(changes: list[Change], expected: list[str]) -> None:
    assert problems(*changes) == expected


ACCEPTED: list[tuple[str, list[Change]]] = [
    ("a gauge block", [('reference = "0 mm"', 'reference = "25 mm"')]),
    ("a zero check in inches", [('within = "0.03 mm"', 'within = "0.001 in"')]),
    ("shares of inches", [(SHARE_OF, 'share_of = "47.25 in"')]),
    ("shares beside lengths", [('plausible = ["0.4 %", "10 %"]', 'plausible = ["5 mm", "120 mm"]')]),
    ("sag by a rule alone", [('["caliper", "depth gauge", "rule", "tape"]', '["rule"]')]),
    ("measured off the middle", [('slack_is = "sag"', 'slack_is = "sag"\noff_centre = "100 mm"')]),
    ("a coarse tool let in", [("recheck = ", "allow_coarse = true\nrecheck = ")]),
]  # fmt: skip


@pytest.mark.parametrize("changes", [case[1] for case in ACCEPTED], ids=[case[0] for case in ACCEPTED])
def test_accepted_without_a_warning(changes: list[Change]) -> None:
    assert warnings(*changes) == ()


def test_a_zero_check_of_what_nothing_is_measured_with_is_warned_of() -> None:
    text = edited(('tools = ["caliper"]', 'tools = ["setting gauge"]')).replace("setting gauge", "tape")
    unused = text.replace('"depth gauge", "rule", "tape"', '"depth gauge", "rule"')
    assert load_sheet(text, "my.toml").warnings == ()
    assert load_sheet(unused, "my.toml").warnings == (
        f"{ZERO}, key tools: no step measures with tape; name a tool that one does, or leave this step out",
    )


# --- shares are exact -------------------------------------------------------------------------------------------------


def test_shares_become_lengths_and_keep_what_was_written() -> None:
    sag = load_sheet(edited(), "my.toml").sheet.by_id["sag"]
    assert isinstance(sag, MeasureStep)
    assert sag.window == (parse_quantity("18 mm"), parse_quantity("36 mm"))
    assert sag.aim is not None
    assert (sag.aim.told, str(sag.aim)) == ("2% of 1200 mm = 24 mm", "24 mm")
    assert sag.plausible is not None
    assert [limit.told for limit in sag.plausible] == ["0.4% of 1200 mm = 4.8 mm", "10% of 1200 mm = 120 mm"]


@given(st.decimals("0.001", "999.999", places=3), st.decimals("0.01", "99999.99", places=2))
def test_a_share_is_exact(part: Decimal, whole: Decimal) -> None:
    found = share(parse_quantity(f"{part:f} %"), parse_quantity(f"{whole:f} mm"))
    assert Fraction(found.value) == Fraction(part) * Fraction(whole) / 100
    assert Decimal(found.text) == found.value
    assert found.unit == "mm"
    assert "e" not in found.text.lower()


def test_only_a_share_is_a_share() -> None:
    with pytest.raises(BadInput, match="3 mm is no share"):
        share(parse_quantity("3 mm"), parse_quantity("1200 mm"))


def test_what_stands_as_written_is_told_as_written() -> None:
    assert parse_quantity("25.0 mm").told == "25.0 mm"

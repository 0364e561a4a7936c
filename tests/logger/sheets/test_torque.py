"""Passes, adapters and guard bands of a sheet: what is refused, what is warned of, and in which words."""

import pytest

from logger.sheets.file import load_sheet
from logger.sheets.sheet import TorqueStep

from .conveyor import BOLT_AIM, GUARDED, PASSES, SAG_AIM, edited, problems, warnings
from .edit import Change

BOLTS = '[[step]] 10 "bolts"'
SAG = '[[step]] 7 "sag"'
TAKEUP = '[[step]] 8 "takeup"'
TORQUES = "N·m, cN·m, dN·m, daN·m, N·cm, kgf·m, kgf·cm, lbf·ft, lbf·in, ozf·in"


def passes(*windows: str) -> Change:
    """Return a change of the passes: each "low high aim" in N·m."""
    tables = (each.split() for each in windows)
    told = ", ".join(f'{{ window = ["{low} N·m", "{high} N·m"], aim = "{aim} N·m" }}' for low, high, aim in tables)
    return PASSES, f"passes = [{told}]"


def with_bolts(line: str) -> Change:
    return BOLT_AIM, BOLT_AIM + line + "\n"


def with_sag(line: str) -> Change:
    return SAG_AIM, SAG_AIM + line + "\n"


REFUSED: list[tuple[str, list[Change], list[str]]] = [
    ("a pass into the last", [passes("30 66 40")], [
        f"{BOLTS}, passes 1, key window: it ends at 66 N·m, not below 66 N·m where window begins; "
        "let the passes rise towards the last",
    ]),
    ("passes that fall", [passes("40 50 45", "20 30 25")], [
        f"{BOLTS}, passes 1, key window: it ends at 50 N·m, not below 20 N·m where passes 2 begins; "
        "let the passes rise towards the last",
    ]),
    ("a pass above the last", [passes("80 90 85")], [
        f"{BOLTS}, passes 1, key window: it ends at 90 N·m, not below 66 N·m where window begins; "
        "let the passes rise towards the last",
    ]),
    ("aim outside its pass", [passes("30 40 41")], [
        f'{BOLTS}, passes 1, key aim: found "41 N·m", which is outside the window; write an aim from 30 N·m to 40 N·m',
    ]),
    ("a pass upside down", [passes("40 30 35")], [
        f"{BOLTS}, passes 1, key window: 40 N·m is not below 30 N·m; "
        "write the lower limit first, and two different ones",
    ]),
    ("a pass of nothing", [passes("0 30 20")], [
        f"{BOLTS}, passes 1, key window: a torque of zero or less holds nothing; write limits above zero",
    ]),
    ("a pass of lengths", [(PASSES, PASSES.replace('aim = "35 N·m"', 'aim = "35 mm"'))], [
        f'{BOLTS}, passes 1, key aim: found "35 mm", a length; write a torque ({TORQUES})',
    ]),
    ("adapter of torque", [with_bolts('adapter = { wrench = "300 N·m", extension = "50 mm" }')], [
        f'{BOLTS}, adapter, key wrench: found "300 N·m", a torque; write a length (mm, µm, cm, m, in, ft, thou)',
    ]),
    ("adapter without length", [with_bolts('adapter = { wrench = "300 mm", extension = "0 mm" }')], [
        f'{BOLTS}, adapter, key extension: found "0 mm"; write an amount above zero',
    ]),
    ("adapter past the grip", [with_bolts('adapter = { wrench = "30 cm", extension = "300 mm", angle = 180 }')], [
        f"{BOLTS}, adapter: The adapter is folded back past the grip, so the wrench cannot turn it. "
        "Use a shorter adapter, a longer wrench or a smaller angle.",
    ]),
    ("a guard that leaves nothing", [GUARDED, with_bolts('guard = "6.1 N·m"')], [
        f"{BOLTS}, key guard: 6.1 N·m leaves nothing of the window 66 N·m to 78 N·m; "
        'make it smaller, or guard one limit with guarded = "low" or "high"',
    ]),
    ("a guard that leaves nothing, simple", [with_sag('guard = "10 mm"')], [
        f"{SAG}, key guard: 10 mm leaves nothing of the window 18 mm to 36 mm; "
        'make it smaller, or guard one limit with guarded = "low" or "high"',
    ]),
    ("a guard of torque", [GUARDED, with_sag('guard = "1 N·m"')], [
        f'{SAG}, key guard: found "1 N·m", a torque; write a length (mm, µm, cm, m, in, ft, thou)',
    ]),
    ("a guard of nothing", [GUARDED, with_bolts('guard = "0 N·m"')], [
        f'{BOLTS}, key guard: found "0 N·m"; write an amount above zero',
    ]),
    ("a guard beyond agreement", [GUARDED, ('grows = "rearward"', 'grows = "rearward"\nguard = "0.7 mm"')], [
        f"{TAKEUP}, key guard: 0.7 mm is more than agree_within, 0.6 mm: no pair could pass; make it smaller",
    ]),
    ("an aim within the guard", [GUARDED, with_sag('guard = "7 mm"')], [
        f'{SAG}, key aim: found "24 mm", within the guard band of 7 mm; '
        "a value there is never inside, write an aim further in",
    ]),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "expected"), [case[1:] for case in REFUSED], ids=[case[0] for case in REFUSED])
def test_refused(changes: list[Change], expected: list[str]) -> None:
    assert problems(*changes) == expected


ACCEPTED: list[tuple[str, list[Change]]] = [
    ("a setting wrench", [with_bolts('tools = ["torque wrench", "setting wrench"]')]),
    ("three passes", [passes("10 20 15", "30 40 35", "50 60 55")]),
    ("passes in two units", [(PASSES, 'passes = [{ window = ["22 lbf·ft", "48 lbf·ft"], aim = "35 lbf·ft" }]')]),
    ("no passes", [(PASSES + "\n", "")]),
    ("an adapter square to the wrench", [with_bolts('adapter = { wrench = "12 in", extension = "2 in", angle = 90 }')]),
    ("a guard that leaves one value", [GUARDED, with_bolts('guard = "6 N·m"')]),
    ("a guard of one limit", [GUARDED, with_sag('guard = "7 mm"\nguarded = "high"')]),
    ("guarded without a guard", [GUARDED, with_sag('guarded = "low"')]),
]  # fmt: skip


@pytest.mark.parametrize("changes", [case[1] for case in ACCEPTED], ids=[case[0] for case in ACCEPTED])
def test_accepted_without_a_warning(changes: list[Change]) -> None:
    assert warnings(*changes) == ()


def test_a_guard_that_nothing_looks_at_is_warned_of() -> None:
    said = 'it is looked at only with decision = "guarded" at the top of the file; set that, or leave it out'
    assert warnings(with_bolts('guard = "1 N·m"')) == (f"{BOLTS}, key guard: {said}",)
    assert warnings(with_sag('guarded = "low"')) == (f"{SAG}, key guarded: {said}",)


def test_a_guard_needs_a_limit() -> None:
    window = 'window = ["114.0 mm", "116.6 mm"]'
    assert problems(GUARDED, ("pitches = 6\n", ""), (window, 'guard = "1 mm"'))[-1] == (
        '[[step]] 5 "wear", key guard: there is no limit to guard; add window or agree_within, or leave guard out'
    )


def test_passes_and_adapter_are_read() -> None:
    text = edited(with_bolts('adapter = { wrench = "300 mm", extension = "50 mm", angle = 90 }'))
    bolts = load_sheet(text, "my.toml").sheet.by_id["bolts"]
    assert isinstance(bolts, TorqueStep)
    assert [str(each.aim) for each in bolts.passes] == ["35 N·m"]
    assert bolts.adapter is not None
    assert (str(bolts.adapter.wrench), str(bolts.adapter.extension), bolts.adapter.angle) == ("300 mm", "50 mm", 90)

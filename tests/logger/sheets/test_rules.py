"""Cross-checks: each refusal by the smallest change to the courier's sheet that earns it, and nothing besides."""

import pytest

from logger.sheets.file import load_sheet
from logger.sheets.store import shipped_text

from .edit import Change, refusals, replaced

COURIER = shipped_text("courier-chain").decode()
ADJUST = '[[step]] 9 "adjust"'
DISTURBS = 'disturbs = ["slack", "sides", "axle_nut", "lock_nuts", "pin", "brake"]'
LOOSEN = 'loosen = ["axle_nut", "lock_nuts"]'
NUT_DISTURBS = 'disturbs = ["slack", "sides", "pin", "brake"]'
LOCKS = 'locks = ["axle_nut", "lock_nuts"]'
SLACK_WINDOW = 'window = ["25 mm", "40 mm"]'


def edited(*changes: Change) -> str:
    """Return the courier's sheet with some of its text replaced."""
    return replaced(COURIER, *changes)


def step_text(step_id: str) -> str:
    """Return the text of one step of the courier's sheet."""
    return next("[[step]]" + part for part in COURIER.split("[[step]]") if f'\nid = "{step_id}"\n' in part)


def moved(step_id: str, before: str) -> str:
    """Return the courier's sheet with one step moved in front of another."""
    moving = step_text(step_id).rstrip("\n") + "\n\n"
    target = step_text(before)
    return COURIER.replace(step_text(step_id), "", 1).replace(target, moving + target, 1)


REFUSED: list[tuple[str, list[Change], list[str]]] = [
    ("id twice", [('id = "brake"', 'id = "pin"')], ['more than one [[step]] has the id "pin"; give each its own']),
    ("conditions", [('conditions = ["paddock"]', 'conditions = ["paddok", "paddock"]')], [
        '[[step]] 3 "ready", key conditions: found "paddok" (did you mean "paddock"?); '
        "allowed: paddock in [conditions]",
    ]),
    ("condition unknown", [('condition = "paddock"', 'condition = "stand"')], [
        '[[step]] 5 "wear", key condition: found "stand"; allowed: paddock in [conditions]',
    ]),
    ("two kinds of tool", [('tools = ["caliper"]', 'tools = ["caliper", "torque wrench"]')], [
        '[[step]] 5 "wear", key tools: a torque wrench is read at torque steps only; name other tools',
    ]),
    ("torque by caliper", [('title = "Axle nut"', 'title = "Axle nut"\ntools = ["caliper"]')], [
        '[[step]] 10 "axle_nut", key tools: found ["caliper"]; allowed: "torque wrench", "setting wrench"',
    ]),
    ("window of torque", [(SLACK_WINDOW, 'window = ["25 mm", "40 N·m"]')], [
        '[[step]] 7 "slack", key window: found "40 N·m", a torque; write a length (mm, µm, cm, m, in, ft, thou)',
    ]),
    ("window of mileage", [(SLACK_WINDOW, 'window = ["25 mm", "40 km"]')], [
        '[[step]] 7 "slack", key window: found "40 km", a distance; write a length (mm, µm, cm, m, in, ft, thou)',
    ]),
    ("torque of length", [('aim = "98 N·m"', 'aim = "98 mm"')], [
        '[[step]] 10 "axle_nut", key aim: found "98 mm", a length; write a torque '
        "(N·m, cN·m, dN·m, daN·m, N·cm, kgf·m, kgf·cm, lbf·ft, lbf·in, ozf·in)",
    ]),
    ("upside down", [(SLACK_WINDOW, 'window = ["40 mm", "25 mm"]')], [
        '[[step]] 7 "slack", key window: 40 mm is not below 25 mm; write the lower limit first, and two different ones',
    ]),
    ("upside down in two units", [(SLACK_WINDOW, 'window = ["2 in", "40 mm"]')], [
        '[[step]] 7 "slack", key window: 2 in is not below 40 mm; write the lower limit first, and two different ones',
    ]),
    ("aim outside", [('aim = "32 mm"', 'aim = "41 mm"')], [
        '[[step]] 7 "slack", key aim: found "41 mm", which is outside the window; write an aim from 25 mm to 40 mm',
    ]),
    ("aim without window", [('method_u = "0.13 mm"', 'aim = "3 mm"')], [
        '[[step]] 8 "sides", key aim: an aim without a window; add window or leave aim out',
    ]),
    ("implausible window", [('plausible = ["5 mm", "90 mm"]', 'plausible = ["30 mm", "90 mm"]')], [
        '[[step]] 7 "slack", key plausible: part of the window is not plausible; '
        "values in the window could never pass, make it wider",
    ]),
    ("nothing agrees", [('agree_within = "0.5 mm"', 'agree_within = "0 mm"')], [
        '[[step]] 8 "sides", key agree_within: found "0 mm"; write an amount above zero',
    ]),
    ("spread of one", [('method_u = "0.8 mm"', 'spread_within = "0.8 mm"')], [
        '[[step]] 7 "slack", key spread_within: one reading has no spread; set repeats = 2 or leave it out',
    ]),
    ("place agreement", [('places = ["tightest", "opposite"]', 'places = ["tightest", "agreement"]')], [
        '[[step]] 7 "slack", key places: found "agreement", the name of the check of a pair; use another',
    ]),
    ("place twice", [('places = ["tightest", "opposite"]', 'places = ["tightest", "tightest"]')], [
        '[[step]] 7 "slack", key places: found "tightest" 2 times; name each once',
    ]),
    ("parts alike", [('parts = ["taut down", "taut up"]', 'parts = ["taut up", "taut up"]')], [
        '[[step]] 7 "slack", key parts: found ["taut up", "taut up"]; '
        'a difference has two different parts, such as parts = ["taut down", "taut up"]',
    ]),
    ("three parts", [('parts = ["taut down", "taut up"]', 'parts = ["taut down", "rest", "taut up"]')], [
        '[[step]] 7 "slack", key parts: found ["taut down", "rest", "taut up"]; '
        'a difference has two different parts, such as parts = ["taut down", "taut up"]',
    ]),
    ("larger of neither", [('larger = "taut up"', 'larger = "up"')], [
        '[[step]] 7 "slack", key larger: found "up"; allowed: taut down, taut up (the part that reads larger)',
    ]),
    ("parts of a value", [('takes = "difference"\n', "")], [
        '[[step]] 7 "slack", key parts: only a difference has parts; set takes = "difference" or omit it',
        '[[step]] 7 "slack", key larger: only a difference has parts; set takes = "difference" or omit it',
    ]),
    ("grows alone", [('method_u = "0.8 mm"', 'grows = "forward"')], [
        '[[step]] 7 "slack", key grows: only a pair that must agree has it; add agree_within or omit it',
    ]),
    ("grows missing", [('grows = "rearward"\n', "")], [
        '[[step]] 8 "sides", key grows is missing; '
        'say where the axle is when the gauge reads more: "rearward" or "forward"',
    ]),
    ("pair of governing", [('grows = "rearward"', 'grows = "rearward"\ngoverns = "left"\nrecheck = "governing"')], [
        '[[step]] 8 "sides", key recheck: a pair is judged on both places; set recheck = "all"',
    ]),
    ("governs nothing", [('governs = "tightest"', 'governs = "tighest"')], [
        '[[step]] 7 "slack", key governs: found "tighest" (did you mean "tightest"?); '
        "allowed: tightest, opposite (its places)",
    ]),
    ("nothing governs", [('governs = "tightest"\n', "")], [
        '[[step]] 7 "slack", key recheck: found "governing", but no place governs; '
        'name one with governs, or set recheck = "all"',
        '[[step]] 7 "slack", key governs is missing; '
        "say which place of the slack steers the adjustment: tightest, opposite",
    ]),
    ("torque of nothing", [('window = ["18 N·m", "24 N·m"]', 'window = ["0 N·m", "24 N·m"]')], [
        '[[step]] 11 "lock_nuts", key window: a torque of zero or less holds nothing; write limits above zero',
    ]),
    ("fastener twice", [('fasteners = ["left", "right"]', 'fasteners = ["left", "left"]')], [
        '[[step]] 11 "lock_nuts", key fasteners: found "left" 2 times; name each once',
    ]),
    ("slack of no step", [
        ('slack = "slack"', 'slack = "slak"'),
        ('corrects = ["slack", "sides"]', 'corrects = ["sides"]'),
    ], [
        '[drive], key slack: found "slak" (did you mean "slack"?); allowed: wear, slack, sides (the measure steps)',
        f'{ADJUST}, key corrects: the slack of [drive], "slak", is not among them; add it',
    ]),
    ("slack without window", [('aim = "32 mm"\n', "")], [
        '[[step]] 7 "slack" is the slack of [drive]; give it a window and an aim',
    ]),
    ("slack below zero", [
        (SLACK_WINDOW, 'window = ["-1 mm", "40 mm"]'),
        ('plausible = ["5 mm"', 'plausible = ["-5 mm"'),
    ], [
        '[[step]] 7 "slack", key window: a slack is a length, zero or more; write such limits',
    ]),
    ("sides are the slack", [('sides = "sides"', 'sides = "slack"')], [
        '[drive], key sides: found "slack" (did you mean "slack"?); allowed: wear, slack, sides '
        "(a measure step other than the slack)",
        f'{ADJUST}, key corrects: there is no advice for "sides"; name it as slack or sides in [drive]',
    ]),
    ("sides swapped", [('places = ["left", "right"]', 'places = ["right", "left"]')], [
        '[[step]] 8 "sides", key places: found ["right", "left"]; '
        'the sides of [drive] are places = ["left", "right"], in this order',
    ]),
    ("teeth of one", [("rear_teeth = 42\n", "")], [
        "[drive] has the teeth of one sprocket; give front_teeth and rear_teeth, or neither",
    ]),
    ("teeth without pitch", [('pitch = "12.7 mm"\n', ""), ("pitches = 8\n", "")], [
        "[drive] has teeth but not what goes with them; add pitch, and centre or span",
    ]),
    ("teeth without length", [('centre = "554 mm"', "")], [
        "[drive] has teeth but not what goes with them; add pitch, and centre or span",
    ]),
    ("neither teeth nor span", [("front_teeth = 15\nrear_teeth = 42\n", "")], [
        "[drive] has neither teeth nor a span; add span, the free length of the measured run",
    ]),
    ("sprockets touch", [('centre = "554 mm"', 'centre = "11 cm"')], [
        "[drive], key centre: a centre distance of 110 mm lets sprockets of 15 and 42 teeth touch: "
        "it must be more than 115.5 mm",
    ]),
    ("thread of torque", [('thread = "1.0 mm"', 'thread = "1.0 N·m"')], [
        '[drive], key thread: found "1.0 N·m", a torque; write a length (mm, µm, cm, m, in, ft, thou)',
    ]),
    ("thread of nothing", [('thread = "1.0 mm"', 'thread = "0 mm"')], [
        '[drive], key thread: found "0 mm"; write an amount above zero',
    ]),
    ("locks nothing", [(LOCKS, 'locks = ["axle_nut", "lock_nut"]')], [
        '[[step]] 12 "pin", key locks: found "lock_nut" (did you mean "lock_nuts"?); '
        "allowed: axle_nut, lock_nuts (the torque steps)",
    ]),
    ("disturbs nothing", [(NUT_DISTURBS, 'disturbs = ["slack", "sides", "pin", "brakes"]')], [
        '[[step]] 10 "axle_nut", key disturbs: found "brakes" (did you mean "brake"?); '
        "allowed: ready, chain, wear, tightest, slack, sides, axle_nut, lock_nuts, pin, brake, finish "
        "(what can be taken again)",
    ]),
    ("disturbs a note", [(NUT_DISTURBS, 'disturbs = ["slack", "sides", "pin", "mileage"]')], [
        '[[step]] 10 "axle_nut", key disturbs: found "mileage"; '
        "allowed: ready, chain, wear, tightest, slack, sides, axle_nut, lock_nuts, pin, brake, finish "
        "(what can be taken again)",
    ]),
    ("corrects a confirm", [('corrects = ["slack", "sides"]', 'corrects = ["slack", "sides", "brake"]')], [
        f'{ADJUST}, key corrects: found "brake"; allowed: wear, slack, sides (the measure steps)',
    ]),
    ("corrects what has no advice", [
        ('corrects = ["slack", "sides"]', 'corrects = ["slack", "sides", "wear"]'),
        (DISTURBS, DISTURBS.replace("]", ', "wear"]')),
    ], [f'{ADJUST}, key corrects: there is no advice for "wear"; name it as slack or sides in [drive]']),
    ("slack left alone", [('corrects = ["slack", "sides"]', 'corrects = ["sides"]')], [
        f'{ADJUST}, key corrects: the slack of [drive], "slack", is not among them; add it',
    ]),
    ("corrects without disturbing", [(DISTURBS, DISTURBS.replace('"sides", ', ""))], [
        f'{ADJUST}, key corrects: turning changes "sides"; add it to disturbs, so that it is measured again',
    ]),
    ("a torque not tightened again", [(DISTURBS, DISTURBS.replace('"axle_nut", ', ""))], [
        f'{ADJUST}, key loosen: "axle_nut" must be tightened again after it; add it to disturbs',
    ]),
    ("a torque not loosened", [(LOOSEN, 'loosen = ["lock_nuts"]')], [
        f'{ADJUST}, key loosen: "axle_nut" holds what is adjusted here, so it must be loose before turning; '
        "add it with all its fasteners",
    ]),
    ("a torque forgotten", [(LOOSEN, 'loosen = ["lock_nuts"]'), (DISTURBS, DISTURBS.replace('"axle_nut", ', ""))], [
        f'{ADJUST}, key disturbs: "axle_nut" holds what is adjusted here, so it must be tightened again; add it',
        f'{ADJUST}, key loosen: "axle_nut" holds what is adjusted here, so it must be loose before turning; '
        "add it with all its fasteners",
    ]),
    ("half a torque loosened", [(LOOSEN, 'loosen = ["axle_nut", "lock_nuts.left"]')], [
        f'{ADJUST}, key loosen: "lock_nuts" holds what is adjusted here, so it must be loose before turning; '
        "add it with all its fasteners",
    ]),
    ("loosens nothing", [(LOOSEN, 'loosen = ["axle_nut", "lock_nuts", "lock_nuts.top", "pin"]')], [
        f'{ADJUST}, key loosen: found "lock_nuts.top"; allowed: lock_nuts.left, lock_nuts.right',
        f'{ADJUST}, key loosen: found "pin"; allowed: axle_nut, lock_nuts (the torque steps)',
    ]),
    ("a lock forgotten", [(DISTURBS, DISTURBS.replace('"pin", ', ""))], [
        f'{ADJUST}, key disturbs: "pin" locks a torque step that is undone here, so it must be confirmed again; add it',
    ]),
    ("a torque undoes itself", [(NUT_DISTURBS, 'disturbs = ["slack", "sides", "pin", "axle_nut"]')], [
        '[[step]] 10 "axle_nut", key disturbs: torque steps that disturb itself would never be done; take one out',
    ]),
    ("torques undo each other", [
        (NUT_DISTURBS, 'disturbs = ["slack", "sides", "pin", "lock_nuts"]'),
        ('disturbs = ["slack", "sides", "pin"]', 'disturbs = ["slack", "sides", "pin", "axle_nut"]'),
    ], [
        '[[step]] 10 "axle_nut", key disturbs: torque steps that disturb each other (axle_nut, lock_nuts) '
        "would never be done; take one out",
    ]),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "expected"), [case[1:] for case in REFUSED], ids=[case[0] for case in REFUSED])
def test_refused(changes: list[Change], expected: list[str]) -> None:
    assert refusals(edited(*changes)) == expected


def test_a_ring_of_three_torques_is_told_once() -> None:
    third = step_text("lock_nuts").replace('"lock_nuts"', '"guard_bolts"').replace('"pin"]', '"axle_nut"]')
    text = edited(
        (NUT_DISTURBS, 'disturbs = ["slack", "sides", "lock_nuts"]'),
        ('disturbs = ["slack", "sides", "pin"]', 'disturbs = ["slack", "sides", "guard_bolts"]'),
        (DISTURBS, DISTURBS.replace("]", ', "guard_bolts"]')),
        (LOOSEN, 'loosen = ["axle_nut", "lock_nuts", "guard_bolts"]'),
        (step_text("pin"), third + step_text("pin")),
    )
    assert refusals(text) == [
        '[[step]] 10 "axle_nut", key disturbs: torque steps that disturb each other '
        "(axle_nut, lock_nuts, guard_bolts) would never be done; take one out"
    ]


def test_a_condition_must_be_confirmed_before_the_measure() -> None:
    assert refusals(edited(('conditions = ["paddock"]\n', "")))[0] == (
        '[[step]] 5 "wear", key condition: no earlier confirm step confirms "paddock"; '
        'write conditions = ["paddock"] in a confirm step before this one'
    )
    assert [line.split(",")[0] for line in refusals(moved("ready", "sides"))] == [
        '[[step]] 4 "wear"',
        '[[step]] 6 "slack"',
    ]


def test_an_adjust_step_needs_the_drive() -> None:
    start, end = COURIER.index("[drive]"), COURIER.index("[[due]]")
    assert refusals((COURIER[:start] + COURIER[end:]).replace("pitches = 8\n", "")) == [
        f"{ADJUST}: an adjust step needs the table [drive]; "
        "add it with slack, thread, adjuster, tighten, chain_side and span"
    ]


def test_an_adjust_comes_after_what_it_corrects() -> None:
    assert refusals(moved("adjust", "sides")) == [
        '[[step]] 8 "adjust", key corrects: "sides" comes later, so nothing would lead back here; '
        "move this step behind it"
    ]


def test_an_adjust_comes_before_the_torques_it_undoes() -> None:
    assert refusals(moved("axle_nut", "adjust")) == [
        '[[step]] 10 "adjust": the torque step "axle_nut" comes before it, so turning would undo a tight fastener; '
        "move this step in front of it"
    ]


def test_no_torque_is_reached_while_something_is_still_to_be_adjusted() -> None:
    """Between a measure that may fail and its adjust step, a torque would be asked for while an earlier check fails."""
    early = step_text("axle_nut").replace('"axle_nut"', '"peg_bolt"').replace(NUT_DISTURBS + "\n", "")
    assert refusals(edited((step_text("sides"), early + step_text("sides")))) == [
        '[[step]] 10 "adjust": the torque step "peg_bolt" comes before it, so turning would undo a tight fastener; '
        "move this step in front of it"
    ]


def test_a_lock_comes_after_what_it_locks() -> None:
    assert refusals(moved("pin", "axle_nut")) == [
        f'[[step]] 10 "pin", key locks: "{name}" comes later, so it would be locked while loose; '
        "move this step behind it"
        for name in ("axle_nut", "lock_nuts")
    ]


WARNED: list[tuple[str, list[Change], str]] = [
    ("title", [('title = "Axle nut"', 'title = "Axle nut, with the far side counter-held"')],
     '[[step]] 10 "axle_nut", key title: longer than 34 characters; it cannot be read from afar'),
    ("condition", [("[conditions]\n", '[conditions]\nladen = "rider seated"\n')],
     "[conditions], key laden: no confirm step confirms it"),
    ("agreement finer than a flat", [('agree_within = "0.5 mm"', 'agree_within = "0.16 mm"')],
     '[[step]] 8 "sides", key agree_within: 0.16 mm is finer than a flat: one flat moves a side 0.167 mm; '
     "whole flats may never meet it"),
    ("a flat steps over the window", [(SLACK_WINDOW, 'window = ["30 mm", "34 mm"]')],
     '[[step]] 7 "slack", key window: one flat moves a side 0.167 mm, more than the whole window; '
     "whole flats may step over it"),
    ("tightened twice", [('disturbs = ["slack", "sides", "pin"]', 'disturbs = ["slack", "sides", "pin", "axle_nut"]')],
     '[[step]] 11 "lock_nuts", key disturbs: "axle_nut" comes before it, so it is always tightened twice; '
     "change their order"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "expected"), [case[1:] for case in WARNED], ids=[case[0] for case in WARNED])
def test_warned(changes: list[Change], expected: str) -> None:
    assert load_sheet(edited(*changes), "my.toml").warnings == (expected,)


ACCEPTED: list[tuple[str, list[Change]]] = [
    ("span in place of teeth", [("front_teeth = 15\nrear_teeth = 42\n", ""), ('centre = "554 mm"', 'span = "551 mm"')]),
    ("teeth with a span", [('centre = "554 mm"', 'span = "551 mm"')]),
    ("agreement of just one flat", [
        ('agree_within = "0.5 mm"', 'agree_within = "0.2 mm"'),
        ('thread = "1.0 mm"', 'thread = "1.2 mm"'),
    ]),
    ("aim on a limit", [('aim = "32 mm"', 'aim = "40 mm"')]),
    ("the same window in inches", [(SLACK_WINDOW, 'window = ["0.98425 in", "1.5748 in"]')]),
    ("the same window with pounds", [('window = ["90 N·m", "106 N·m"]', 'window = ["67 ft-lb", "78 ft-lb"]')]),
    ("fasteners named one by one", [(LOOSEN, 'loosen = ["lock_nuts.right", "axle_nut", "lock_nuts.left"]')]),
    ("an earlier torque that undoes a later one", [
        (NUT_DISTURBS, 'disturbs = ["slack", "sides", "pin", "lock_nuts"]'),
    ]),
]  # fmt: skip


@pytest.mark.parametrize("changes", [case[1] for case in ACCEPTED], ids=[case[0] for case in ACCEPTED])
def test_accepted_without_a_warning(changes: list[Change]) -> None:
    assert load_sheet(edited(*changes), "my.toml").warnings == ()

"""Hostile options of the two calculators: every command line is answered, or refused in a sentence."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import NoReturn

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.fuzz import NUMBERS, PIECES, ends, fuzzed, spoiled, within
from tui.cli import main
from tui.commands.options import ADVISE, JUDGE, Option
from tui.exits import Exit

ROOM = 1 << 28
MOST_SAID = 5000
"""Characters: room for every note there is, and none for an echo of what was typed at whatever length."""
LENGTHS = (
    *("-0.02 mm", "0.0000000001mm", "1thou", "0.1 mm", "1.25 mm", "15.875mm", "30 mm", "1.425 in", "36.2mm", "650mm"),
    "9999999999.99mm",
)
TORQUES = ("-3 N·m", "0Nm", "0.5 cN·m", "60 lbf·ft", "90 N·m", "98Nm", "100000000000 N·m")
SIGNED = ("--window", "--value", "--slack", "--left", "--right")
VALUES: Mapping[str, tuple[str, ...]] = {
    **dict.fromkeys(("--front-teeth", "--rear-teeth"), ("17", "42", "5", "1000")),
    **dict.fromkeys(("--pitch", "--span", "--thread"), LENGTHS[1:]),
    "--centre": ("650mm", "26 in", "9999999999.99mm", "36.2mm"),
    "--flats-per-turn": ("1", "6", "360"),
    "--grows": ("rearward", "forward"),
    **dict.fromkeys(("--if-left", "--if-right"), ("1", "-0.5", "1/2", "+999", "0", "-999.999999")),
    "--decision": ("guarded", "guarded", "simple"),
    "--accuracy": ("2%", "0 %", "99.9999 %", "0.03 mm", "100 %", "3 N·m"),
}
"""What an option takes, or nearly; any other takes quantities of the kind that its line is about."""
TOGETHER: Mapping[str, str] = {
    **dict.fromkeys(("--front-teeth", "--rear-teeth", "--pitch", "--centre"), "not --span"),
    **dict.fromkeys(("--accuracy", "--resolution", "--method-u"), "not --u"),
    **dict.fromkeys(("--left", "--right"), "sides"),
    **dict.fromkeys(("--if-left", "--if-right"), "turns"),
}
"""Options that stand in a line together or not at all, by what they are called here."""
VALUE = (
    st.sampled_from([*LENGTHS, *TORQUES, *(text for texts in VALUES.values() for text in texts), "-4%", "1/0", "0"])
    | st.builds(str.__add__, st.sampled_from(NUMBERS), st.sampled_from(("mm", " N·m", "%", "")))
    | spoiled(st.sampled_from([*LENGTHS, *TORQUES]))
    | PIECES
)


@st.composite
def typed(draw: st.DrawFn, options: tuple[Option, ...]) -> list[str]:
    """Draw a command line that nearly does, with up to two things wrong: a value, one left out, one more word."""
    kind = draw(st.sampled_from((LENGTHS, TORQUES) if options is JUDGE else (LENGTHS,)))
    stands: dict[str, bool] = {}
    parts: list[list[str]] = []
    for each in options:
        (name,), count = each.names, each.settings.get("nargs", 1)
        whole = TOGETHER.get(name, name)
        stands.setdefault(whole, not stands[f"not {name}"] if f"not {name}" in stands else draw(st.booleans()))
        if not (stands[whole] or each.settings.get("required")):
            continue
        if each.settings.get("action"):
            parts.append([name])
            continue
        allowed = VALUES.get(name, kind if name in SIGNED else kind[1:])
        found = [draw(st.sampled_from(allowed)) for _ in range(2 if count == 2 else 1)]
        parts.append([name, *sorted(found, key=allowed.index)])
    for _ in range(draw(st.sampled_from((0, 0, 1, 1, 2)))):
        _spoil(draw, parts)
    return [word for part in parts for word in part]


def _spoil(draw: st.DrawFn, parts: list[list[str]]) -> None:
    at = draw(st.integers(0, len(parts) - 1)) if parts else 0
    match draw(st.sampled_from(("value", "value", "value", "joined", "gone", "more"))):
        case "value" if parts and len(parts[at]) > 1:
            parts[at] = [*parts[at][:-1], draw(VALUE)]
        case "joined" if parts:
            parts[at] = [f"{parts[at][0]}={draw(VALUE)}"]
        case "gone" if parts:
            del parts[at]
        case _:
            parts.insert(at, [draw(VALUE)])


def no_number(text: str) -> NoReturn:
    raise AssertionError(f"{text} is no number of JSON")


def held(home: Path, capfd: pytest.CaptureFixture[str], words: list[str]) -> None:
    """Run a command line and hold that it is answered or refused as it may be."""
    with ends(), within(ROOM):
        code = main([*words, "--home", str(home)])
    out, err = capfd.readouterr()
    assert code in (Exit.DONE, Exit.BAD_INPUT), err
    assert not list(home.glob("crash-*.txt"))
    assert len(out + err) < MOST_SAID
    if code == Exit.BAD_INPUT:
        assert out == ""
        assert err.strip().endswith((".", "?", "--help"))
    elif "--json" in words:
        assert isinstance(json.loads(out, parse_constant=no_number), dict)
    else:
        assert out.strip()
        assert err == ""


@pytest.mark.parametrize(("command", "options"), [("advise", ADVISE), ("judge", JUDGE)])
@fuzzed(40)
@given(data=st.data())
def test_fuzz_any_options_are_answered_or_refused(
    own_home: Path, capfd: pytest.CaptureFixture[str], data: st.DataObject, command: str, options: tuple[Option, ...]
) -> None:
    held(own_home, capfd, [command, *data.draw(typed(options))])

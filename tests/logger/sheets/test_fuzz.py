"""Any damage to a sheet's values ends in a sheet or in a refusal with words, never in anything else."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.sheets.file import load_sheet
from logger.sheets.keys import KEYS

from .conveyor import CONVEYOR

LINES = CONVEYOR.splitlines()
SET = [number for number, line in enumerate(LINES) if re.match(r"[a-z_]+ = [^\[]|[a-z_]+ = \[.*\]$", line)]
"""Lines that set a key on one line."""

VALUES = (
    *("0", "-1", "7", "1e400", "nan", "true", "1979-05-27", "[]", "{}", "[[]]", "[{}]", '""', '" "', '"x"', "'a\\b'"),
    *('"0 mm"', '"-3 mm"', '"12 N·m"', '"1.5 %"', '"-2 %"', '"0 %"', '"999999999999 mm"', '"36"', '"1,5 mm"'),
    *('["1 %", "3 mm"]', '["1 mm", "2 mm"]', '["5 N·m", "9 N·m"]', '["2 mm", "1 mm"]', '["1 %", "2 %", "3 %"]'),
    *('["sag"]', '["bolts"]', '["zero"]', '["caliper", "rule"]', '["torque wrench"]', '["bolts.left_front", "bolts"]'),
    *('{ wrench = "1 mm", extension = "2 mm", angle = 180 }', '{ wrench = "0 mm", extension = "1 N·m" }'),
    *('[{ window = ["1 mm", "2 %"], aim = "3 %" }]', '[{ window = ["1 N·m", "2 N·m"], aim = "1 N·m" }]', "[1, [2]]"),
)
NAMES = sorted({key.name for key in KEYS})


def told(text: str) -> str:
    """Return what is said of a sheet; nothing when it loads."""
    try:
        loaded = load_sheet(text, "my.toml")
    except BadInput as refused:
        return str(refused)
    assert all(isinstance(warning, str) for warning in loaded.warnings)
    return ""


@given(st.lists(st.tuples(st.sampled_from(SET), st.sampled_from(VALUES)), min_size=1, max_size=3))
def test_any_value_at_any_key_is_taken_or_refused(changes: list[tuple[int, str]]) -> None:
    lines = list(LINES)
    for number, value in changes:
        lines[number] = f"{lines[number].partition('=')[0]}= {value}"
    said = told("\n".join(lines))
    assert not said or said.startswith("my.toml")
    assert "pydantic" not in said
    assert "Input should" not in said


@given(st.sampled_from(SET), st.sampled_from(NAMES), st.sampled_from(VALUES))
def test_any_key_at_any_table_is_taken_or_refused(number: int, name: str, value: str) -> None:
    said = told("\n".join([*LINES[: number + 1], f"{name} = {value}", *LINES[number + 1 :]]))
    assert not said or said.startswith("my.toml")
    assert "Input should" not in said


@pytest.mark.parametrize("name", NAMES)
def test_every_key_without_its_line_is_taken_or_refused(name: str) -> None:
    left = [line for line in LINES if not re.match(rf"{name} = [^\[]|{name} = \[.*\]$", line)]
    said = told("\n".join(left))
    assert not said or said.startswith("my.toml")

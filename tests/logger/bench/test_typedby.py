"""Lines of a tool that acts as a keyboard: read as its profile says and never otherwise; a person's beside them."""

import pytest

from drivers.profile.values import TypedValue
from drivers.reading import Stamp
from drivers.typed import TypedError
from logger import events as ev
from logger.bench.typedby import no_keyboard, read_line
from tests.logger.walk import Walk, small

AT = Stamp(1, 1)
FIXED = TypedValue(decode="typed", pattern="{number}", picture="+0000.00", unit="mm")
WHO = {"jaws": FIXED}


def declared(tool: str = "jaws", kind: str = "caliper") -> Walk:
    return small(upto="measure:gap").say(ev.ToolDeclared(tool=tool, tool_kind=kind))


def test_a_line_is_read_as_the_named_tool_types_it() -> None:
    reading = read_line(declared().job, WHO.get, "+0032.10", AT, 4)
    assert (reading.text, reading.unit, reading.raw, reading.source) == ("32.10", "mm", "+0032.10", "typed")
    assert (reading.tool, reading.key_gap_ms) == ("typed", 4)


@pytest.mark.parametrize("line", ["0032.10", "+032.10", "+0032.100", "+0032,10", "32.10", "32.10 mm", "+0032.10 mm"])
def test_a_line_that_lost_or_gained_a_key_is_no_reading_even_where_a_person_could_mean_it(line: str) -> None:
    with pytest.raises(TypedError, match="It is read as jaws types it; to type by hand say: with off"):
        read_line(declared().job, WHO.get, line, AT)


def test_what_measures_something_else_is_a_persons() -> None:
    reading = read_line(declared().job, WHO.get, "98 N·m", AT)
    assert (reading.quantity, reading.text, reading.unit) == ("torque", "98", "N·m")


@pytest.mark.parametrize("walk", [small(upto="measure:gap"), declared("tape", "tape"), declared("typed", "")])
def test_without_such_a_tool_the_strict_grammar_holds(walk: Walk) -> None:
    assert read_line(walk.job, WHO.get, "32.10 mm", AT).text == "32.10"
    with pytest.raises(TypedError):
        read_line(walk.job, WHO.get, "+0032.10", AT)


def test_a_bench_knows_no_keyboard_tool_by_itself() -> None:
    assert read_line(declared().job, no_keyboard, "32.10 mm", AT).text == "32.10"

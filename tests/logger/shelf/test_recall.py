from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.job.judged import Judged
from logger.sheets.file import load_sheet
from logger.sheets.sheet import Sheet
from logger.sheets.store import open_sheet
from logger.shelf.recall import ToolError, need_fitting, recalled, reviewed, shown
from logger.shelf.rejudge import Records, decided_by, differing, rejudged
from logger.shelf.shelf import begin, job_records
from tests.played import WHOLE, play

LONG_AGO = "2000-01-01"


async def _played(folder: Path) -> tuple[Records, Sheet]:
    path = folder / "trail.sqlite"
    await play(path, WHOLE)
    records = job_records(path, "j1")
    return records, begin(records[0]).sheet


def test_a_share_is_of_the_true_value() -> None:
    """ISO 6789's relative error, (X_a - X_r) / X_r, symbols from memory: what shows 103 at +3 % was 100."""
    assert ToolError.of("+3 %").corrected("103", "N·m") == "100.0000"
    assert ToolError.of("-4 %").corrected("96.0", "N·m") == "100.00000"


def test_an_amount_is_converted_into_the_unit_of_the_reading() -> None:
    assert ToolError.of("-0.04 mm").corrected("36.20", "mm") == "36.240000"
    assert ToolError.of("25.4 mm").corrected("1.5", "in") == "0.50000"


@pytest.mark.parametrize("text", ["-100 %", "100 %", "three", "3", ""])
def test_an_error_that_says_nothing_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        ToolError.of(text)


@given(
    st.decimals("-5", "5", places=2).filter(lambda share: share > -100),
    st.decimals("0.01", "500", places=2),
)
def test_correcting_and_reading_again_come_back(share: Decimal, true: Decimal) -> None:
    shown = Fraction(true) * (1 + Fraction(share) / 100)
    text = format((Decimal(shown.numerator) / Decimal(shown.denominator)).quantize(Decimal("1e-9")), "f")
    back = Decimal(ToolError.of(f"{share} %").corrected(text, "N·m"))
    assert abs(back - true) < Decimal("1e-8")


async def test_a_wrench_that_reads_too_much_calls_the_job_back(tmp_path: Path) -> None:
    """98 N·m shown at +10 % was 89.1 N·m, below the window of 90 to 106 N·m."""
    records, sheet = await _played(tmp_path)
    found = recalled(records, sheet, "typed", LONG_AGO, ToolError.of("+10 %"))
    assert found is not None
    nut = next(each for each in found.affected if each.check == "axle_nut")
    assert nut.now is not None
    assert (nut.now.verdict, nut.now.text, nut.now.unit) == ("waiting", "89.0909", "N·m")
    nut = next(each for each in found.affected if each.check == "axle_nut")
    assert nut.was is not None
    assert nut.now is not None
    assert (nut.was.verdict, nut.was.text) == ("inside", "98")
    assert not nut.now.passes
    assert found.call_back
    event = reviewed(found, "typed", LONG_AGO, ToolError.of("+10 %"))
    assert event.call_back
    assert ("axle_nut", "inside") in [(each.check, each.was) for each in event.changed]


async def test_an_error_common_to_both_readings_changes_no_difference(tmp_path: Path) -> None:
    records, sheet = await _played(tmp_path)
    found = recalled(records, sheet, "typed", LONG_AGO, ToolError.of("+0.05 mm"))
    assert found is not None
    assert [each.check for each in found.affected] == ["wear"]
    assert (found.changed, found.call_back) == ((), False)


async def test_a_job_the_tool_did_not_touch_since_is_left_out(tmp_path: Path) -> None:
    records, sheet = await _played(tmp_path)
    assert recalled(records, sheet, "TW-1", LONG_AGO, ToolError.of("+3 %")) is None
    assert recalled(records, sheet, "typed", "2100-01-01", ToolError.of("+3 %")) is None


@pytest.mark.parametrize(
    ("read", "true", "margin", "text"),
    [
        ("98", "102.0000", "4", "102"),
        ("98", "97.6923", "7.6", "97.7"),  # 98 would tell no correction
        ("98", "89.9604", "-0.0396", "89.96"),  # 90 would lie inside 90 to 106
        ("31.5", "31.46000", "6", "31.46"),
        ("26.4", "26.0000", None, "26.0"),
        ("36.20", "36.240000", "1", "36.24"),
        ("-0.60", "-0.620000", "-0.1", "-0.62"),
        ("98", "106.0000", "0", "106"),
    ],
)
def test_a_corrected_value_shows_no_more_digits_than_it_needs(
    read: str, true: str, margin: str | None, text: str
) -> None:
    was = Judged("nut", "inside", text=read, unit="N·m")
    room = None if margin is None else Fraction(Decimal(margin))
    now = Judged("nut", "low", value=Fraction(Decimal(true)), text=true, unit="N·m", margin=room)
    assert shown(was, now) == text


async def test_an_error_of_another_kind_touches_no_reading(tmp_path: Path) -> None:
    records, sheet = await _played(tmp_path)
    torques = [each for each in records if each.event.kind != "reading_taken"]
    assert recalled(torques, sheet, "typed", LONG_AGO, ToolError.of("1 mm")) is None
    with pytest.raises(BadInput, match=r"typed read N·m, and 1 mm is no torque\."):
        need_fitting([torques], "typed", ToolError.of("1 mm"))
    need_fitting([records], "typed", ToolError.of("1 mm"))
    need_fitting([torques], "TW-1", ToolError.of("1 mm"))


async def test_another_sheet_judges_the_same_readings(tmp_path: Path) -> None:
    records, own = await _played(tmp_path)
    text = open_sheet("courier-chain").text.replace('window = ["25 mm", "40 mm"]', 'window = ["32 mm", "40 mm"]')
    other = load_sheet(text, "the other").sheet
    changed = differing(rejudged(records, own, other))
    assert [each.check for each in changed] == ["slack.tightest"]
    assert changed[0].fails_now
    assert changed[0].now is not None
    assert (changed[0].now.verdict, changed[0].now.text) == ("low", "31.5")


async def test_the_own_sheet_and_rule_change_nothing(tmp_path: Path) -> None:
    records, own = await _played(tmp_path)
    assert differing(rejudged(records, own, own)) == ()
    assert differing(rejudged(records, own, decided_by(own, "simple"))) == ()


async def test_a_guarded_rule_is_stricter_never_laxer(tmp_path: Path) -> None:
    records, own = await _played(tmp_path)
    for each in rejudged(records, own, decided_by(own, "guarded")):
        assert each.was is not None
        assert each.now is not None
        assert each.was.passes or not each.now.passes


def test_a_reading_of_64_digits_is_corrected_to_its_last_one() -> None:
    assert ToolError.of("-1 mm").corrected("9" * 64, "mm") == "1" + "0" * 64 + ".0000"
    assert ToolError.of("50 %").corrected("3" * 63, "N·m") == "2" * 63 + ".0000"

"""Units against published factors, and the strings that general unit parsers misread."""

import subprocess
import sys
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.units import (
    Limits,
    Quantity,
    approx,
    approx_limits,
    approx_margin,
    check_window,
    factor,
    in_unit,
    margin,
    parse_quantity,
    position,
    share,
    show,
    show_number,
    trimmed,
    unit_names,
    unit_of,
)

INCH, FOOT = Fraction("0.0254"), Fraction("0.3048")
POUND, GRAVITY = Fraction("0.45359237"), Fraction("9.80665")
"""Metres, kilograms and m/s²: exact by definition (international yard and pound, 1959; CGPM 1901)."""

EXACT = [
    ("lbf·ft", "N·m", POUND * GRAVITY * FOOT),
    ("lbf·in", "N·m", POUND * GRAVITY * INCH),
    ("ozf·in", "N·m", POUND / 16 * GRAVITY * INCH),
    ("kgf·m", "N·m", GRAVITY),
    ("kgf·cm", "N·m", GRAVITY / 100),
    ("N·cm", "N·m", Fraction(1, 100)),
    ("cN·m", "N·m", Fraction(1, 100)),
    ("dN·m", "N·m", Fraction(1, 10)),
    ("daN·m", "N·m", Fraction(10)),
    ("in", "mm", INCH * 1000),
    ("ft", "mm", FOOT * 1000),
    ("ft", "in", Fraction(12)),
    ("thou", "µm", INCH * 1000),
    ("thou", "mm", INCH),
    ("µm", "mm", Fraction(1, 1000)),
    ("cm", "mm", Fraction(10)),
    ("m", "mm", Fraction(1000)),
    ("mi", "km", FOOT * 5280 / 1000),
]

# NIST Special Publication 811, appendix B.8, as transcribed by the NISTunits package; edition from memory.
NIST_SP_811 = [
    ("lbf·ft", "N·m", "1.355818"),
    ("lbf·in", "N·m", "0.1129848"),
    ("ozf·in", "N·m", "0.007061552"),
    ("kgf·m", "N·m", "9.80665"),
    ("in", "m", "0.0254"),
    ("thou", "m", "0.0000254"),
]


@pytest.mark.parametrize(("source", "target", "expected"), EXACT)
def test_each_factor_is_the_exact_rational(source: str, target: str, expected: Fraction) -> None:
    assert factor(source, target) == expected
    assert factor(target, source) == 1 / expected


@pytest.mark.parametrize(("source", "target", "rounded"), NIST_SP_811)
def test_each_factor_rounds_to_the_published_one(source: str, target: str, rounded: str) -> None:
    last_digit = Fraction(1, 10 ** len(rounded.partition(".")[2]))
    assert abs(factor(source, target) - Fraction(rounded)) <= last_digit / 2


@pytest.mark.parametrize(
    ("source", "target"), [("mm", "N·m"), ("km", "m"), ("deg", "mm"), ("h", "%"), ("lbf·ft", "in")]
)
def test_kinds_never_convert_into_each_other(source: str, target: str) -> None:
    with pytest.raises(BadInput, match="do not convert"):
        factor(source, target)


def test_a_factor_of_an_unknown_unit_names_what_is_allowed() -> None:
    with pytest.raises(BadInput) as refused:
        factor("mm", "furlong")
    assert refused.value.message == "Unknown unit 'furlong'."
    assert refused.value.remedy == f"Allowed: {', '.join(unit_names())}."


def test_units_of_one_kind_convert_through_any_third() -> None:
    for kind in ("length", "torque", "distance"):
        names = unit_names([kind])
        for a in names:
            for b in names:
                assert factor(a, b) * factor(b, names[0]) == factor(a, names[0])


TRADE = {
    "N·m": ["Nm", "N.m", "N·m", "N m", "N-m", "N*m", "NM", "N⋅m", "N · m"],
    "N·cm": ["Ncm", "N·cm", "N cm"],
    "cN·m": ["cNm", "cN.m"],
    "lbf·ft": [
        "ft·lb",
        "ft-lb",
        "ft lb",
        "ft.lb",
        "ftlb",
        "lb-ft",
        "lb·ft",
        "lbft",
        "lbf·ft",
        "lbf-ft",
        "ft-lbf",
        "ft-lbs",
        "FT-LB",
        "Ft.Lb.",
    ],
    "lbf·in": ["in·lb", "in-lb", "in lb", "in·lbf", "lbf·in", "lb-in", "inlb", "in-lbs", "IN-LB"],
    "ozf·in": ["oz-in", "in-oz", "ozf·in", "in·oz"],
    "kgf·m": ["kgf·m", "kgf-m", "m·kg", "kg·m", "kg-m", "kgm", "mkg", "kp·m"],
    "kgf·cm": ["kgf·cm", "kg-cm", "kgcm"],
    "mm": ["mm", " mm "],
    "µm": ["µm", "μm", "um"],
    "in": ["in", '"', "inch", "inches", "in.", "IN"],
    "thou": ["thou", "mil"],
    "ft": ["ft", "'", "feet"],
    "km": ["km"],
    "mi": ["mi", "miles"],
    "deg": ["deg", "°"],
}


@pytest.mark.parametrize(("name", "alias"), [(name, alias) for name, ways in TRADE.items() for alias in ways])
def test_a_unit_means_what_a_mechanic_means(name: str, alias: str) -> None:
    known = unit_of(alias)
    assert known is not None
    assert known[1] == name


@pytest.mark.parametrize(
    "alias",
    [
        "",
        "nm",
        "Mm",
        "MM",
        "mN",
        "m·N",
        "J",
        "lb",
        "kg",
        "lbf",
        "mm²",
        "N··m",
        "-mm",
        "·m",
        "furlong",
        "N/m",
        "mm\n",
        "Xmm",
    ],
)
def test_an_unknown_unit_is_not_guessed(alias: str) -> None:
    assert unit_of(alias) is None


def test_a_quantity_keeps_its_digits() -> None:
    assert parse_quantity("36 mm") == Quantity("36", Decimal(36), "mm")
    assert parse_quantity("36.20mm") == Quantity("36.20", Decimal("36.20"), "mm")
    assert parse_quantity(" -0.050 in ").text == "-0.050"
    assert parse_quantity('1.4173"') == Quantity("1.4173", Decimal("1.4173"), "in")
    assert parse_quantity("72\u00a0ft-lb").unit == "lbf·ft"


@pytest.mark.parametrize(
    "text",
    [
        "12,5 mm", "0,5 mm", "1,000 mm", "nan mm", "inf mm", "-inf mm", "9**9**9 mm", "1e3 mm", "1E400 mm", "36", "",
        "mm", ".5 in", "5. in", "1/2 in", "3 1/2 in", "36 mm 4", "1 000 mm", "0x10 mm", "1_000 mm", "٣٦ mm", "３６ mm",
        "--1 mm", "+-1 mm", "36 nm", "36 J", "1234567890123 mm", "0.0000000000001 mm", "36 mm\x00", "98 N·m·m", "½ in",
        "1" * 100_000 + " mm",
    ],
)  # fmt: skip
def test_traps_are_refused_with_a_sentence(text: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_quantity(text)
    assert caught.value.message.endswith(".")
    assert caught.value.remedy
    assert len(str(caught.value)) < 400


def test_more_digits_than_any_tool_shows_are_refused() -> None:
    assert parse_quantity("123456.789012 mm").value == Decimal("123456.789012")
    with pytest.raises(BadInput) as refused:
        parse_quantity("123456.7890123 mm")
    said = "'123456.7890123' has more than 12 digits. Leave out the digits no tool can show."
    assert str(refused.value) == said


EXAMPLE = 'Write digits, a point where needed, and a unit, such as "36.2 mm" or "98 N·m".'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1" + " " * 62 + "mm", f"A quantity of 65 characters is too long. {EXAMPLE}"),
        ("12,5 mm", "'12,5 mm' is not a quantity. Write a point, not a comma, such as 12.5 mm."),
        (".5 in", f"'.5 in' is not a quantity. {EXAMPLE}"),
        ("36 4 mm", f"'36 4 mm' is not a quantity. {EXAMPLE}"),
        ("36", f"'36' has no unit. Allowed: {', '.join(unit_names())}."),
        ("36 Xmm", f"'36 Xmm' has unknown unit 'Xmm'. Allowed: {', '.join(unit_names())}."),
    ],
)
def test_what_is_no_quantity_is_told_whole(text: str, said: str) -> None:
    with pytest.raises(BadInput) as refused:
        parse_quantity(text)
    assert str(refused.value) == said


def test_a_quantity_of_just_the_length_allowed_is_read() -> None:
    assert parse_quantity("1" + " " * 61 + "mm").unit == "mm"


def test_a_comma_is_told_to_be_a_point() -> None:
    with pytest.raises(BadInput, match="point, not a comma"):
        parse_quantity("12,5 mm")


def test_an_unknown_unit_names_what_is_allowed() -> None:
    with pytest.raises(BadInput, match=r"'furlong'.*Allowed: mm, .*lbf·ft"):
        parse_quantity("3 furlong")


@given(st.text(max_size=80))
def test_any_text_is_a_quantity_or_a_clear_refusal(text: str) -> None:
    try:
        found = parse_quantity(text)
    except BadInput:
        return
    assert found.value == Decimal(found.text)
    assert found.unit in unit_names()


@given(st.integers(-(10**12) + 1, 10**12 - 1), st.integers(0, 9), st.sampled_from(unit_names()))
def test_what_is_shown_reads_back_the_same(count: int, digits: int, unit: str) -> None:
    text = format(Decimal(count).scaleb(-digits), "f")
    if sum(c.isdigit() for c in text) > 12:
        return
    shown = show(Quantity(text, Decimal(text), unit))
    assert parse_quantity(shown).value == Decimal(text)
    assert parse_quantity(shown).unit == unit


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("-0.00", "0.00 mm"),
        ("-0", "0 mm"),
        ("-0.01", "-0.01 mm"),
        ("36.20", "36.20 mm"),
        ("+1", "+1 mm"),
        ("+0.0", "0.0 mm"),
    ],
)
def test_a_negative_zero_is_shown_without_its_sign(text: str, shown: str) -> None:
    assert show(Quantity(text, Decimal(text), "mm")) == shown


def test_every_on_limit_reading_passes() -> None:
    """Binary fractions reject more than 2,700 of these on either side."""
    for hundredths in range(1, 20_000):
        nominal = Decimal(hundredths) / 100
        low, high = nominal - Decimal("0.05"), nominal + Decimal("0.05")
        limits = in_unit((Quantity(str(low), low, "mm"), Quantity(str(high), high, "mm")), "mm")
        assert position(low, limits) == position(high, limits) == "inside"
        assert position(low - Decimal("0.01"), limits) == "low"
        assert position(high + Decimal("0.01"), limits) == "high"


@pytest.mark.parametrize(
    ("reading", "verdict"), [("81.34", "low"), ("81.35", "inside"), ("97.61", "inside"), ("97.62", "high")]
)
def test_a_window_in_pounds_judges_a_tool_in_newton_metres(reading: str, verdict: str) -> None:
    limits = in_unit((parse_quantity("60 lbf·ft"), parse_quantity("72 ft-lb")), "N·m")
    assert limits == Limits(60 * POUND * GRAVITY * FOOT, 72 * POUND * GRAVITY * FOOT)
    assert position(Decimal(reading), limits) == verdict


@pytest.mark.parametrize(
    ("part", "whole", "text", "told"),
    [
        ("1.5%", "1200 mm", "18", "1.5% of 1200 mm = 18 mm"),
        ("10 %", "1000 mm", "100", "10% of 1000 mm = 100 mm"),
        ("1.5 %", "1200.5 mm", "18.0075", "1.5% of 1200.5 mm = 18.0075 mm"),
        ("2.50 %", "40 N·m", "1", "2.50% of 40 N·m = 1 N·m"),
        ("0.5 %", "1 mm", "0.005", "0.5% of 1 mm = 0.005 mm"),
        ("0.0001 %", "0.01 mm", "0.00000001", "0.0001% of 0.01 mm = 0.00000001 mm"),
    ],
)
def test_a_share_is_exact_and_keeps_what_was_written(part: str, whole: str, text: str, told: str) -> None:
    found = share(parse_quantity(part), parse_quantity(whole))
    assert (found.text, found.value, found.unit) == (text, Decimal(text), parse_quantity(whole).unit)
    assert found.told == told


def test_a_quantity_that_stands_as_written_is_told_as_it_stands() -> None:
    assert parse_quantity("36.20mm").told == "36.20 mm"


def test_only_percent_is_a_share() -> None:
    with pytest.raises(BadInput) as refused:
        share(parse_quantity("1.5 mm"), parse_quantity("1200 mm"))
    assert str(refused.value) == "1.5 mm is no share. Write it in %, such as 1.5 %."


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("36.2000", "36.20"),
        ("36.2010", "36.201"),
        ("36.200", "36.20"),
        ("36.201", "36.201"),
        ("36.20", "36.20"),
        ("36.2", "36.2"),
        ("36.", "36."),
        ("3600", "3600"),
        ("0.0005", "0.0005"),
        ("0.00500", "0.005"),
    ],
)
def test_zeros_beyond_two_decimals_go_and_nothing_else(text: str, shown: str) -> None:
    assert trimmed(text) == shown


def test_open_sides_and_margins() -> None:
    limits = Limits(Fraction(30), None)
    assert position(Decimal("29.99"), limits) == "low"
    assert position(Decimal(10**9), limits) == "inside"
    assert margin(Decimal("29.99"), limits) == Fraction(-1, 100)
    assert margin(Decimal(32), Limits(Fraction(30), Fraction(33))) == 1
    assert in_unit((None, parse_quantity("1 in")), "mm") == Limits(None, Fraction("25.4"))


def test_a_window_is_refused_upside_down_empty_or_mixed() -> None:
    mm, inch, torque = (parse_quantity(text) for text in ("30 mm", "1 in", "3 N·m"))
    assert check_window(inch, mm) == (inch, mm)
    assert check_window(mm, mm) == (mm, mm)
    assert check_window(None, mm) == (None, mm)
    assert check_window(mm, None) == (mm, None)
    for low, high, said in [
        (mm, inch, "The window 30 mm to 1 in is upside down. Write the lower value first."),
        (
            parse_quantity("40 in"),
            parse_quantity("100 mm"),
            "The window 40 in to 100 mm is upside down. Write the lower value first.",
        ),
        (None, None, "A window needs at least one limit. Give its lowest value, its highest value or both."),
        (
            mm,
            torque,
            "mm is a length and N·m is a torque: they do not convert. Use one of: N·m, cN·m, dN·m, daN·m, N·cm, kgf·m, "
            "kgf·cm, lbf·ft, lbf·in, ozf·in.",
        ),
    ]:
        with pytest.raises(BadInput) as refused:
            check_window(low, high)
        assert str(refused.value) == said


def test_shown_limits_are_rounded_inwards() -> None:
    limits = in_unit((parse_quantity("60 lbf·ft"), parse_quantity("72 lbf·ft")), "N·m")
    assert approx_limits(limits, "N·m", 2) == ("≈ 81.35 N·m", "≈ 97.61 N·m")
    assert approx_limits(Limits(Fraction(30), None), "mm", 1) == ("30.0 mm", None)


ratios = st.fractions(-1000, 1000, max_denominator=10**6)


def _number(shown: str) -> Decimal:
    return Decimal(shown.removeprefix("≈ ").split(" ")[0])


@given(st.integers(-(10**6), 10**6), ratios, ratios)
def test_a_reading_passes_exactly_when_it_is_within_the_limits_as_shown(
    hundredths: int, a: Fraction, b: Fraction
) -> None:
    limits = Limits(min(a, b), max(a, b))
    reading = Decimal(hundredths) / 100
    low, high = approx_limits(limits, "mm", 2)
    assert low is not None
    assert high is not None
    assert (_number(low) <= reading <= _number(high)) == (position(reading, limits) == "inside")


@given(ratios, ratios, ratios, st.integers(0, 4))
def test_a_computed_value_never_shows_another_verdict(value: Fraction, a: Fraction, b: Fraction, digits: int) -> None:
    limits = Limits(min(a, b), max(a, b))
    shown = approx(value, "mm", digits, limits)
    if not a == b == value:  # a single point such as 1/3 has no decimal digits that lie on it
        assert position(_number(shown), limits) == position(value, limits)
    assert abs(Fraction(_number(shown)) - value) <= Fraction(1, 10**digits)
    assert shown.startswith("≈") == (Fraction(_number(shown)) != value)


def test_digits_are_added_where_rounding_would_hide_a_failure() -> None:
    limits = Limits(Fraction(10), Fraction("10.10"))
    assert approx(Fraction("10.104"), "mm", 2, limits) == "10.104 mm"
    assert approx(Fraction("10.10444"), "mm", 2) == "≈ 10.10 mm"
    assert approx(Fraction("27.5"), "mm", 0) == "27.5 mm"
    assert approx(Fraction(1, 3), "mm", 1, Limits(Fraction(1, 3), None)) == "≈ 0.3333333333334 mm"


def test_a_failing_margin_never_shows_as_zero() -> None:
    assert approx_margin(Fraction("-0.00004"), "mm", 2) == "≈ -0.001 mm"
    assert approx_margin(Fraction("0.5"), "mm", 2) == "+0.50 mm"


def test_room_is_never_overstated() -> None:
    assert approx_margin(Fraction("0.01"), "mm", 0) == "+0.01 mm"
    assert approx_margin(Fraction(2, 3), "mm", 0) == "≈ +0.6 mm"
    assert approx_margin(Fraction(0), "mm", 2) == "+0.00 mm"


def test_a_value_closer_to_a_limit_than_twelve_more_digits_is_rounded_to_the_side_it_is_on() -> None:
    two_thirds, hair = Fraction(2, 3), Fraction(5, 10**14)
    assert approx(two_thirds, "mm", 0, Limits(None, two_thirds + hair)) == "≈ 0.666666666666 mm"
    assert approx(two_thirds, "mm", 0, Limits(two_thirds, None)) == "≈ 1 mm"
    assert approx(-two_thirds, "mm", 0, Limits(-two_thirds - hair, None)) == "≈ -0.666666666666 mm"


def test_a_window_of_a_single_point_is_shown_as_such_and_never_left_without_figures() -> None:
    point, third, hair = Fraction("10.2"), Fraction(1, 3), Fraction(3, 10**13)
    assert approx_limits(Limits(point, point), "mm", 0) == ("10.2 mm", "10.2 mm")
    assert approx_limits(Limits(third, third), "mm", 1) == ("≈ 0.4 mm", "≈ 0.3 mm"), "no digits write it"
    assert approx_limits(Limits(third, third + hair), "mm", 0) == ("≈ 1 mm", "≈ 0 mm"), "nor do twelve more"


def test_limits_never_stand_upside_down() -> None:
    assert approx_limits(Limits(Fraction("10.2"), Fraction("10.7")), "mm", 0) == ("10.2 mm", "10.7 mm")


@pytest.mark.parametrize(
    ("value", "shown"), [("1/3", "0.333"), ("-2/3", "-0.667"), ("36", "36.000"), ("-1/9999", "0.000")]
)
def test_a_computed_number_has_its_digits(value: str, shown: str) -> None:
    assert show_number(Fraction(value), 3) == shown


def test_a_nought_of_many_digits_is_written_out() -> None:
    assert show_number(Fraction(0), 8) == "0.00000000"


def test_pint_is_not_imported_before_a_factor_is_needed() -> None:
    code = (
        "import sys; from logger.units import *; from logger import units as u\n"
        "w = u.check_window(u.parse_quantity('30 mm'), u.parse_quantity('36 mm')); u.in_unit(w, 'mm')\n"
        "assert 'pint' not in sys.modules; u.factor('in', 'mm'); assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)

"""Units against published factors, and the strings that general unit parsers misread."""

import subprocess
import sys
from fractions import Fraction

import pytest

from logger.errors import BadInput
from logger.units import factor, unit_names, unit_of
from tests.logger.definitions import FOOT, GRAVITY, INCH, POUND

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


def test_pint_is_not_imported_before_a_factor_is_needed() -> None:
    code = (
        "import sys; from logger.units import *; from logger import units as u\n"
        "w = u.check_window(u.parse_quantity('30 mm'), u.parse_quantity('36 mm')); u.in_unit(w, 'mm')\n"
        "assert 'pint' not in sys.modules; u.factor('in', 'mm'); assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)

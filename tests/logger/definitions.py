"""What units are by definition; nothing of ours."""

from fractions import Fraction

INCH, FOOT = Fraction("0.0254"), Fraction("0.3048")
POUND, GRAVITY = Fraction("0.45359237"), Fraction("9.80665")
"""Metres, kilograms and m/s²: exact by definition (international yard and pound, 1959; CGPM 1901)."""

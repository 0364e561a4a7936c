"""Amounts of a sheet held against what they must be: their kind, their sign, their order; pure."""

from collections.abc import Iterator
from fractions import Fraction

from .sheetproblems import found
from .units import Kind, Quantity, factor, unit_names


def exact(quantity: Quantity) -> Fraction:
    """Return a quantity in the first unit of its kind (mm, N·m), exactly."""
    return Fraction(quantity.value) * factor(quantity.unit, unit_names([quantity.kind])[0])


def wrong_amount(spot: str, amount: Quantity | None, kind: Kind) -> Iterator[str]:
    """Yield what is wrong with an amount that must be of this kind and above zero."""
    if amount is None:
        return
    if amount.kind != kind:
        yield f"{spot}: found {found(str(amount))}, a {amount.kind}; write a {kind} ({', '.join(unit_names([kind]))})"
    elif amount.value <= 0:
        yield f"{spot}: found {found(str(amount))}; write an amount above zero"


def wrong_window(spot: str, window: tuple[Quantity, Quantity], kind: Kind) -> Iterator[str]:
    """Yield what is wrong with a window that must be of this kind, its lower limit first."""
    other = [limit for limit in window if limit.kind != kind]
    for limit in other:
        yield f"{spot}: found {found(str(limit))}, a {limit.kind}; write a {kind} ({', '.join(unit_names([kind]))})"
    if not other and exact(window[0]) >= exact(window[1]):
        yield f"{spot}: {window[0]} is not below {window[1]}; write the lower limit first, and two different ones"

"""What a person's hands do to the machine before them: feel it, hold a gauge to it, turn it, pull with an adapter."""

import re
from decimal import Decimal
from fractions import Fraction
from random import Random

from logger.bench.moment import Moment
from logger.pulls.adapter import TorqueAdapter
from logger.sheets.sheet import AdapterTable, MeasureStep
from logger.units import Quantity, factor

from .machine import Machine, Side


def feel_for_tightest(machine: Machine, rng: Random) -> float:
    """Turn the wheel three times and feel, every 15 degrees, how much the chain gives; the angle, in degrees."""
    start = rng.uniform(0, 15)
    angles = [start + 15 * step for step in range(72)]
    return min(angles, key=machine.feel_slack)


def between_jaws(machine: Machine, moment: Moment, step: MeasureStep, tightest: float, *, wrong_side: bool) -> Decimal:
    """Hold the gauge where the prompt says, or to the other side; what it reads, in mm. `tightest` is in degrees."""
    drive, prompt = moment.job.sheet.drive, moment.prompt
    if drive is not None and step.id == drive.slack:
        machine.rotate_to(tightest + (180 if prompt.place == "opposite" else 0))
        return machine.read_slack(prompt.part, larger=step.larger)
    if drive is not None and step.id == drive.sides:
        side: Side = "left" if (prompt.place == "left") != wrong_side else "right"
        return machine.read_side(side)
    found = re.search(r"(\d+) pitches", f"{step.title} {step.ask}")
    return machine.chain_length_over(step.pitches or (int(found[1]) if found else 8))


def turn_side(machine: Machine, side: Side, flats: float) -> None:
    """Turn one adjuster; a side that goes back goes one flat further, is seated, and comes back in."""
    if flats < 0:
        machine.turn(side, flats - 1)
        machine.seat()
        flats = 1
    machine.turn(side, flats)


def amount(quantity: Quantity, unit: str) -> float:
    """Return a quantity in a unit of its kind."""
    return float(Fraction(quantity.value) * factor(quantity.unit, unit))


def gain(table: AdapterTable | None) -> float:
    """What a fastener gets for each unit that the wrench shows."""
    if table is None:
        return 1.0
    wrench, extension = (Fraction(amount(each, "mm")) for each in (table.wrench, table.extension))
    return float(TorqueAdapter(wrench, extension, Fraction(table.angle)).factor_inverse)

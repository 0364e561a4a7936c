"""The shipped sheet as far as its adjustment, with what was read of slack and sides."""

from tests.logger.walk import Walk, answer, shipped


def at_adjust(*readings: str) -> Walk:
    """The shipped sheet with these readings of slack (two halves each, tightest then opposite) and sides."""
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    return walk.read(*readings)


def slack_45(left: str = "36.0 mm", right: str = "36.0 mm") -> Walk:
    return at_adjust("100.0 mm", "145.0 mm", "100.0 mm", "147.0 mm", left, right)

"""The drive that the tests of the geometry work by hand."""

from decimal import Decimal

from logger.drive import Drive

PITCH = Decimal("15.875")
DRIVE = Drive.from_teeth(17, 42, PITCH, 650, Decimal("1.25"))

"""Chain-drive geometry against a model of rigid links of our own."""

from statistics import fmean

import pytest

from logger.drive import off_centre_factor
from tests.logger.drives import DRIVE
from tests.logger.handbook import centre_from_links
from tests.logger.rigidlinks import RigidLinks, mean_slack, zero


@pytest.mark.parametrize(("before", "after"), [(651.16, 651.43), (650.78, 651.43), (650.4, 651.6)])
def test_slack_after_a_movement_agrees_with_rigid_links(before: float, after: float) -> None:
    slack = mean_slack(before)
    predicted = DRIVE.slack_after(slack, after - before)
    assert predicted == pytest.approx(mean_slack(after), abs=0.05)


@pytest.mark.parametrize("excess", [0.3, 0.7, 1.2, 2.8])
def test_slack_of_an_excess_agrees_with_rigid_links(excess: float) -> None:
    drives = [RigidLinks(17, 42, 15.875, 650, phase / 8) for phase in range(8)]
    found = fmean(drive.slack(drive.taut()[1] + excess) for drive in drives)
    assert DRIVE.slack(excess) == pytest.approx(found, rel=0.0005)
    assert DRIVE.excess(found) == pytest.approx(excess, rel=0.001)


def test_rigid_links_go_straight_where_the_handbook_says() -> None:
    chain = 112 * 15.875
    taut = [
        zero(lambda centre, f=phase / 4: RigidLinks(17, 42, 15.875, centre, f).taut()[1] - chain, 650, 653)  # type: ignore[misc]
        for phase in range(4)
    ]
    assert fmean(taut) == pytest.approx(centre_from_links(112, 17, 42, 15.875), abs=0.01)


@pytest.mark.parametrize("off", [-100, -50, 50, 100])
def test_off_centre_agrees_with_rigid_links(off: int) -> None:
    """Both runs of a string held beside the middle, its contact points moving; the formula leaves out the arcs."""
    links = RigidLinks(17, 42, 15.875, 650, 0.25)
    chain = links.taut()[1] + 1.2
    seen = links.slack(chain, off) / links.slack(chain)
    assert seen == pytest.approx(off_centre_factor(off, DRIVE.span_mm), abs=0.004)

"""What is stated of a tool: by the book, by its profile, by nobody."""

from drivers.profile.profile import parse_profile
from logger import events as ev
from logger.toolbook.stated import Describe
from logger.toolbook.toolbook import Toolbook

from .made import tool

PROFILE = parse_profile(
    'profile="bench-wrench"\nkind="torque wrench"\naccuracy="4 %"\nresolution="0.1 N·m"\nsample_rate=50\n'
    'own_peak=true\n[[values]]\ndecode="described"\nrole="stream"\n[pull]\nstart="2.00"\n',
    "test",
)


def test_the_book_goes_before_the_profile_and_the_profile_before_nothing() -> None:
    entry = tool("wrench-1", kind="torque wrench", accuracy="2 %", due="2027-01-01", certificate="C 12")
    asked = Describe(Toolbook(tool=(entry,)), {"bench-wrench": PROFILE})
    by_book = asked("wrench-1", "torque wrench", "bench-wrench")
    assert by_book == ev.ToolDescribed(
        tool="wrench-1",
        tool_kind="torque wrench",
        stated_by="toolbook",
        accuracy="2 %",
        resolution="0.1 N·m",
        due="2027-01-01",
        certificate="C 12",
        pull=ev.PullFigures(start="2.00"),
        sample_rate=50,
        own_peak=True,
    )
    by_profile = asked("TW-9", "torque wrench", "bench-wrench")
    assert by_profile is not None
    assert (by_profile.stated_by, by_profile.accuracy, by_profile.of_reference) == ("profile", "4 %", True)
    assert by_profile.calibrated is None
    assert asked("TW-9", "torque wrench", "") is None
    assert [each.tool for each in asked.all()] == ["wrench-1"]

"""What characteristics mean by which profile, and what is subscribed to before that is known."""

from dataclasses import replace

import pytest

from drivers.decode.bind import Offered, bind, choose, wanted
from drivers.gatt import BATTERY, BATTERY_LEVEL, INDUSTRIAL_MEASUREMENT, LENGTH, TORQUE, PresentationFormat
from drivers.profile.file import shipped_profiles
from drivers.profile.profile import ToolProfile

PROFILES = {p.profile: p for p in shipped_profiles()}
OWN = "7a5b0001-0d5e-4c1c-9c3a-3f1a6f0c9e01"
NEWTON_METRES = PresentationFormat.decode(bytes.fromhex("10fe4127010000")).encode()
PERCENT = PresentationFormat.decode(bytes.fromhex("0400ad27010000")).encode()
INCHES = bytes.fromhex("0efca227010000")


def torque(handle: int, description: str | None = None) -> Offered:
    return Offered(handle, TORQUE, INDUSTRIAL_MEASUREMENT, description)


def own(handle: int, presentation: bytes | None, description: str | None = None) -> Offered:
    return Offered(handle, OWN, "7a5b0000-0d5e-4c1c-9c3a-3f1a6f0c9e01", description, presentation)


def roles(profile: ToolProfile, *offered: Offered) -> dict[int, str]:
    return {b.handle: b.role for b in bind(profile, offered)}


@pytest.mark.parametrize(
    ("profile", "offered", "found"),
    [
        ("sig-torque-wrench", [torque(3, "Torque stream"), torque(7, "Torque peak")], {3: "stream", 7: "peak"}),
        ("sig-torque-wrench", [torque(7, "Torque peak"), torque(3)], {3: "stream", 7: "peak"}),
        ("sig-torque-wrench", [torque(3, "Drehmoment")], {3: "stream"}),
        ("sig-torque-wrench", [torque(3, "torque PEAK ")], {3: "peak"}),
        ("sig-torque-wrench", [torque(3, "Torque stream"), torque(7, "Set torque")], {3: "stream"}),
        ("sig-caliper", [torque(3)], {}),
        ("sig-caliper", [Offered(3, LENGTH, INDUSTRIAL_MEASUREMENT)], {3: "reading"}),
        ("described-caliper", [own(3, INCHES)], {3: "reading"}),
        ("described-caliper", [own(3, PERCENT)], {}),
        ("described-caliper", [own(3, None)], {}),
        ("described-caliper", [own(3, b"\x01")], {}),
        ("described-torque-wrench", [own(3, NEWTON_METRES)], {3: "stream"}),
        ("described-torque-wrench", [own(3, INCHES)], {}),
        ("described-caliper", [replace(own(3, INCHES), service=BATTERY)], {}),
    ],
)
def test_which_characteristics_a_profile_understands(
    profile: str, offered: list[Offered], found: dict[int, str]
) -> None:
    assert roles(PROFILES[profile], *offered) == found


def test_of_several_profiles_the_first_that_understands_anything_is_chosen() -> None:
    chosen = choose([PROFILES["sig-caliper"], PROFILES["sig-torque-wrench"]], [torque(3)])
    assert chosen is not None
    assert chosen[0].profile == "sig-torque-wrench"
    assert choose([PROFILES["sig-caliper"]], [torque(3)]) is None


def test_what_is_subscribed_to_before_descriptors_are_known() -> None:
    offered = [torque(3), Offered(9, BATTERY_LEVEL, BATTERY), own(12, None)]
    assert wanted([PROFILES["sig-torque-wrench"]], offered) == (3,)
    assert wanted([PROFILES["sig-torque-wrench"], PROFILES["described-caliper"]], offered) == (3, 12)

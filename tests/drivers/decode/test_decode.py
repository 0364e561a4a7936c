"""What frames say."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.decode.bind import Offered, Speech, bind
from drivers.decode.decode import Frame, decode
from drivers.gatt import INDUSTRIAL_MEASUREMENT, LENGTH, LINEAR_POSITION, TORQUE
from drivers.profile.file import shipped_profiles
from drivers.reading import Stamp, ToolPeak, ToolReading, ToolState, TorqueSample, Undecoded

PROFILES = {p.profile: p for p in shipped_profiles()}


def torque(handle: int, description: str | None = None) -> Offered:
    return Offered(handle, TORQUE, INDUSTRIAL_MEASUREMENT, description)


def speech(profile: str, *offered: Offered) -> Speech:
    found = PROFILES[profile]
    return Speech("T-1", found.kind, found.duplicate_ms, bind(found, offered))


CALIPER = speech(
    "sig-caliper",
    Offered(3, LENGTH, INDUSTRIAL_MEASUREMENT),
    Offered(6, LINEAR_POSITION, INDUSTRIAL_MEASUREMENT),
)
WRENCH = speech("sig-torque-wrench", torque(3, "Torque stream"), torque(7, "Torque peak"))


def frame(handle: int, hexes: str, ms: int = 0, generation: int = 1) -> Frame:
    return Frame(handle, LENGTH, bytes.fromhex(hexes), generation, Stamp(0, ms * 1_000_000))


def test_a_length_frame_is_a_reading_with_all_that_is_known() -> None:
    assert decode(frame(3, "30e00300", 5), CALIPER) == ToolReading(
        tool="T-1",
        quantity="length",
        text="25.4000",
        unit="mm",
        source="sig",
        raw="30e00300",
        at=Stamp(0, 5_000_000),
        kind="caliper",
        characteristic=LENGTH,
    )


@pytest.mark.parametrize(
    ("before", "repeat"),
    [
        (None, False),
        (frame(3, "30e00300", 920), False),  # exactly the window: no longer within it
        (frame(3, "30e00300", 921), True),
        (frame(3, "30e00300", 1000), True),
        (frame(3, "30e00300", 600), False),
        (frame(3, "31e00300", 999), False),
        (frame(3, "30e00300", 999, generation=0), False),
        (frame(6, "30e00300", 999), False),
    ],
)
def test_a_duplicate_is_the_same_frame_on_the_same_link_within_the_window(before: Frame | None, repeat: bool) -> None:
    reading = decode(frame(3, "30e00300", 1000), CALIPER, before)
    assert isinstance(reading, ToolReading)
    assert reading.duplicate is repeat


def test_a_repeated_peak_is_flagged_and_a_repeated_sample_is_not_even_asked() -> None:
    peak = decode(frame(7, "48260000", 10), WRENCH, frame(7, "48260000", 9))
    assert peak == ToolPeak("T-1", "98.00", "N·m", "48260000", Stamp(0, 10_000_000), duplicate=True)
    sample = decode(frame(3, "48260000", 10), WRENCH, frame(3, "48260000", 9))
    assert sample == TorqueSample("T-1", "98.00", "N·m", Stamp(0, 10_000_000), raw="48260000")


def test_not_known_is_a_gap_in_a_stream_and_never_a_reading_or_a_peak() -> None:
    assert decode(frame(3, "ffffff7f"), WRENCH) == TorqueSample("T-1", None, "N·m", Stamp(0, 0), raw="ffffff7f")
    for said in (decode(frame(7, "ffffff7f"), WRENCH), decode(frame(3, "ffffffff"), CALIPER)):
        assert isinstance(said, Undecoded)
        assert said.reason == "The tool sent no number but: not known."


def test_a_characteristic_without_meaning_is_kept_as_hex() -> None:
    said = decode(frame(99, "0102"), CALIPER)
    assert isinstance(said, Undecoded)
    assert (said.raw, said.tool) == ("0102", "T-1")


@given(payload=st.binary(max_size=24), spoken=st.sampled_from([CALIPER, WRENCH]), handle=st.sampled_from([3, 6, 7]))
def test_any_octets_are_an_arrival_that_keeps_them(payload: bytes, spoken: Speech, handle: int) -> None:
    said = decode(Frame(handle, LENGTH, payload, 1, Stamp(0, 0)), spoken)
    if isinstance(said, TorqueSample):
        assert len(payload) == 4
    else:
        assert not isinstance(said, ToolState)
        assert bytes.fromhex(said.raw) == payload

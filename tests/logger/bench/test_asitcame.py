from drivers.reading import Link, ToolPeak, ToolState, TorqueSample, Undecoded
from logger.bench import asitcame
from tests.logger.walk import Walk

AT = Walk.at(9)


def test_what_could_not_be_decoded_is_kept_as_hex() -> None:
    event = asitcame.undecoded_event(Undecoded("C1", "c1", "ff00", "3 octets where 4 are needed", AT))
    assert (event.raw, event.reason, event.characteristic) == ("ff00", "3 octets where 4 are needed", "c1")


def test_a_sample_that_is_no_torque_is_kept() -> None:
    sample = asitcame.no_torque_event(TorqueSample("W1", "12", "mm", AT), "mm is a length")
    assert (sample.raw, sample.reason) == ("12 mm", "mm is a length")
    peak = asitcame.no_torque_event(ToolPeak("W1", "12", "mm", "0c00", AT), "mm is a length")
    assert peak.raw == "0c00"


def test_a_tools_state_is_kept_whole() -> None:
    state = ToolState(
        "C1", "caliper", Link.READY, AT, 80, "aa:bb", "S9", "M", "1.0", profile="sig-caliper", message="low battery"
    )
    event = asitcame.state_event(state)
    assert (event.tool, event.link, event.battery, event.serial) == ("C1", "ready", 80, "S9")
    assert (event.address, event.model, event.firmware, event.message) == ("aa:bb", "M", "1.0", "low battery")
    assert event.profile == "sig-caliper"

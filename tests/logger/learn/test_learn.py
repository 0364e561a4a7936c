"""The learner: tools that never were are found or asked about, never learned wrong; what does not fit is refused."""

import json
import random
import struct
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest

from drivers.decode.check import broken, hear
from drivers.octets import SFLOAT
from drivers.profile.profile import parse_profile
from logger.errors import BadInput
from logger.learn.capture import Seen, read_capture
from logger.learn.learn import Lesson, learn
from logger.learn.profile import describe, profile_text
from tests.bench.learn_survey import survey
from tests.logger.learn.encodings import OTHER, OWN, make, seen

Row = tuple[bytes, str | None]


def capture(rows: Sequence[Row], uuid: str = OWN) -> tuple[Seen, ...]:
    lines = [json.dumps({"characteristic": uuid, "hex": octets.hex(), "shown": shown}) for octets, shown in rows]
    return read_capture("\n".join(lines), "capture.jsonl")


def lesson(rows: Sequence[Row]) -> Lesson:
    return learn(capture(rows))


def only(rows: Sequence[Row]) -> dict[bytes, str]:
    """Learn rows that must leave one fit; return what it reads."""
    found = lesson(rows)
    assert len(found.fits) == 1, [describe(fit) for fit in found.fits]
    return {found.frames[place].octets: said for place, said in found.fits[0].readings.items()}


# --- any tool -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(80))
def test_a_tool_that_never_was_is_found_and_its_profile_reads_every_frame(seed: int) -> None:
    outcome = survey(seed)
    assert (outcome.end, outcome.why) == ("found", "")
    assert outcome.readings <= 8
    tool = make(seed)
    found = learn(seen(tool, {i for i, each in enumerate(tool.frames) if each.truth}))
    profile = parse_profile(profile_text(found, found.fits[0]), "learned")
    assert broken(profile) == ()
    assert len(profile.vector) == len({each.octets for each in tool.frames if each.uuid == OWN})
    for each in tool.frames:
        (heard,) = hear(profile, each.octets)
        if each.truth is None:
            assert heard.aside or each.uuid == OTHER
        else:
            assert heard.said is not None
            assert heard.said.value == Decimal(each.truth.split()[0])


@pytest.mark.parametrize("seed", range(100, 140))
def test_one_wrong_digit_in_six_readings_is_refused(seed: int) -> None:
    tool, rng = make(seed), random.Random(seed)
    told = rng.sample([i for i, each in enumerate(tool.frames) if each.truth], 6)
    frames = seen(tool, set(told))
    shown = frames[told[0]].shown
    assert shown is not None
    wrong = replace(shown, value=shown.value + Decimal(1).scaleb(-shown.digits))
    frames[told[0]] = replace(frames[told[0]], shown=wrong)
    found = learn(frames)
    assert found.fits == ()
    assert "fits every reading shown" in found.refusal


@pytest.mark.parametrize("seed", range(40))
def test_readings_that_have_nothing_to_do_with_the_frames_are_refused(seed: int) -> None:
    rng = random.Random(seed)
    rows: list[Row] = [
        (bytes([0xA5, 0x01, i, rng.randrange(256), rng.randrange(256), 90]), f"{rng.uniform(1, 150):.2f} mm")
        for i in range(4)
    ]
    assert lesson(rows).fits == ()


# --- forms ----------------------------------------------------------------------------------------------------------


def little(value: int, size: int = 2) -> bytes:
    return value.to_bytes(size, "little", signed=True)


def test_two_readings_give_a_fit_that_says_so() -> None:
    found = lesson([(b"\xa5" + little(3041), "30.41 mm"), (b"\xa5" + little(1250), "12.50 mm")])
    (fit,) = found.fits
    assert describe(fit).startswith("16-bit unsigned integer, little-endian, at octet 1, x 10^-2 mm;")
    assert "fits 2 different readings only: confirm it with another one" in describe(fit)
    assert found.ask is None


def test_a_value_never_below_zero_leaves_the_sign_open_and_is_asked_about() -> None:
    rows: list[Row] = [(little(3041), "30.41 mm"), (little(1250), "12.50 mm"), (little(-12), None)]
    found = lesson(rows)
    readings = [fit.readings[2] for fit in found.fits]
    assert sorted(readings) == ["-0.12 mm", "-327.56 mm", "655.24 mm"]
    assert readings[0] == "-0.12 mm"  # the likeliest: the others are far from all that was shown
    assert found.ask is not None
    assert found.ask.place == 2
    assert "-0.12 mm or 655.24 mm or -327.56 mm" in found.ask.say
    assert only([*rows[:2], (rows[2][0], "-0.12 mm")])[rows[2][0]] == "-0.12 mm"


def test_a_number_counted_in_another_unit_than_the_display_shows() -> None:
    rows: list[Row] = [(little(2540), "1.0000 in"), (little(1271), "0.5004 in"), (little(318), "0.1252 in")]
    found = lesson([*rows, (little(5080), None)])
    (fit,) = found.fits
    assert fit.readings[3] == "2.0000 in"
    profile = profile_text(found, fit)
    assert 'unit = "mm"' in profile
    assert 'shown = "25.40 mm"\ndisplay = "1.0000 in"' in profile


def test_a_display_in_half_thousandths_of_an_inch() -> None:
    rows: list[Row] = [(little(2541), "1.0005 in"), (little(1271), "0.5005 in"), (little(3333), "1.3120 in")]
    assert only([*rows, (little(1004), None)])[little(1004)] == "0.3955 in"


def test_a_number_with_more_digits_than_the_display_is_read_as_the_display_rounds() -> None:
    rows: list[Row] = [(little(304112, 3), "30.41 mm"), (little(125049, 3), "12.50 mm"), (little(99997, 3), "10.00 mm")]
    assert only([*rows, (little(77777, 3), None)])[little(77777, 3)] == "7.78 mm"


def test_floats_of_both_kinds() -> None:
    floats: list[Row] = [(struct.pack(">f", value), f"{value} N·m") for value in (98.1, 12.4, -3.0)]
    assert only([*floats, (struct.pack(">f", 55.5), None)])[struct.pack(">f", 55.5)] == "55.5 N·m"
    medical: list[Row] = [(SFLOAT.encode(Decimal(text)), f"{text} Nm") for text in ("98.1", "12", "-3.05")]
    assert only([*medical, (SFLOAT.encode(Decimal("1.5")), None)])[SFLOAT.encode(Decimal("1.5"))] == "1.50 Nm"


def test_a_number_that_shares_an_octet_with_flags_is_found_when_nothing_else_fits() -> None:
    def frame(count: int, flags: int) -> bytes:
        return (flags << 12 | count).to_bytes(2, "big")

    rows: list[Row] = [(frame(304, 9), "30.4 mm"), (frame(125, 1), "12.5 mm"), (frame(3999, 4), "399.9 mm")]
    found = lesson(rows)
    assert any(
        describe(fit).startswith("16-bit unsigned integer, big-endian, at octet 0, mask 0xFFF") for fit in found.fits
    )


def test_a_sign_in_a_flag_octet() -> None:
    rows: list[Row] = [
        (b"\x00\x30\x41", "30.41 mm"),
        (b"\x80\x12\x50", "-12.50 mm"),
        (b"\x00\x00\x07", "0.07 mm"),
        (b"\x80\x99\x99", "-99.99 mm"),
        (b"\x80\x00\x01", None),
    ]
    assert only(rows)[b"\x80\x00\x01"] == "-0.01 mm"


@pytest.mark.parametrize(("mark", "number"), [(".", "+0030.41"), (",", "+0030,41"), ("", "+003041")])
def test_text_with_either_decimal_mark_or_none(mark: str, number: str) -> None:
    rows: list[Row] = [
        (f"L{number} mm\r\n".encode(), "30.41 mm"),
        (f"L-0001{mark}20 mm\r\n".encode(), "-1.20 mm"),
        (f"L+0150{mark}00 mm\r\n".encode(), None),
        (b"BAT=93\r\n", None),
    ]
    read = only(rows)
    assert read[rows[2][0]] == "150.00 mm"
    assert rows[3][0] not in read


def test_text_that_says_its_unit() -> None:
    rows: list[Row] = [
        (b"30.41 mm\n", "30.41 mm"),
        (b" 1.20 mm\n", "1.20 mm"),
        (b"0.5000 in\n", "0.5000 in"),
        (b"1.2500 in\n", None),
    ]
    assert only(rows)[rows[3][0]] == "1.2500 in"


# --- units and flags ------------------------------------------------------------------------------------------------


def flagged(flags: int, value: int) -> bytes:
    return bytes([flags]) + little(value)


def test_bits_that_say_the_unit_with_a_scale_for_each() -> None:
    rows: list[Row] = [
        (flagged(0, 3041), "30.41 mm"),
        (flagged(1, 11972), "1.1972 in"),
        (flagged(0, 7), "0.07 mm"),
        (flagged(1, 5000), None),
        (flagged(0, -5), "-0.05 mm"),
    ]
    assert only(rows)[rows[3][0]] == "0.5000 in"


def test_the_unit_is_spelled_as_it_was_shown() -> None:
    rows: list[Row] = [(flagged(0, 723), "72.3 ft-lb"), (flagged(0, 105), "10.5 ft-lb"), (flagged(0, 950), None)]
    assert only(rows)[rows[2][0]] == "95.0 ft-lb"


def test_a_flag_never_seen_beside_a_shown_value_stays_a_measurement_and_is_asked_about() -> None:
    rows: list[Row] = [(flagged(0, n), f"{n / 100:.2f} mm") for n in (3041, 1250, 777)]
    found = lesson([*rows, (flagged(0x40, 2000), None)])
    (fit,) = found.fits
    assert fit.readings[3] == "20.00 mm"
    assert found.ask is not None
    assert found.ask.place == 3
    assert "bits never seen beside a shown value" in found.ask.say
    profile = parse_profile(profile_text(found, fit), "learned")
    (heard,) = hear(profile, flagged(0x40, 2000))
    assert (heard.said, heard.aside) == (None, False)
    assert "whose meaning the profile does not know" in heard.reason
    assert [vector.undecided for vector in profile.vector] == [False, False, False, True]
    assert lesson([*rows, (flagged(0x40, 2000), "20.00 mm")]).ask is None


# --- what must not fit ----------------------------------------------------------------------------------------------


def test_a_status_frame_is_set_aside_and_not_averaged() -> None:
    rows: list[Row] = [(b"\xa5\x11" + little(n) + bytes([n % 251]), f"{n / 100:.2f} mm") for n in (3041, 1250, 777)]
    status, short = b"\xa5\x22\x5d\x00\x01", b"\xa5\x5d"
    found = lesson([*rows, (status, None), (b"\xa5\x11" + little(4000) + b"\x01", None), (short, None), (status, None)])
    (fit,) = found.fits
    assert set(fit.readings) == {0, 1, 2, 4}
    profile = parse_profile(profile_text(found, fit), "learned")
    assert [hear(profile, octets)[0].aside for octets in (status, short)] == [True, True]


def test_a_battery_that_falls_is_neither_a_flag_nor_another_kind_of_message() -> None:
    rows: list[Row] = [
        (bytes([88 - i // 3]) + little(n), f"{n / 100:.2f} mm" if i < 3 else None)
        for i, n in enumerate([3041, 1250, 777, 2000, 2100, 2200, 2300, 2400])
    ]
    found = lesson(rows)
    assert [len(fit.readings) for fit in found.fits] == [8]
    profile = parse_profile(profile_text(found, found.fits[0]), "learned")
    assert str(hear(profile, bytes([12]) + little(999))[0]) == "9.99 mm"


def test_a_counter_that_happens_to_match_is_told_apart() -> None:
    rows: list[Row] = [
        (bytes([10, 100]), "10 mm"),
        (bytes([11, 110]), "11 mm"),
        (bytes([12, 35]), None),
        (bytes([13, 120]), None),
    ]
    found = lesson(rows)
    assert {fit.readings[2] for fit in found.fits} >= {"12 mm", "3.5 mm"}
    assert found.ask is not None
    assert only([*rows[:2], (rows[2][0], "3.5 mm"), rows[3]])[rows[3][0]] == "12.0 mm"


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([(b"\1\2", None)], "No frame has a reading beside it"),
        ([(b"\1\2", "0.00 mm"), (b"\3\4", "0.00 mm")], "Every reading shown is zero"),
        ([(b"\1\2", "1.00 mm"), (b"\3\4", "2.0 N·m")], "learn one tool at a time"),
        ([(b"\1\2", "1.00 mm"), (b"\1\2", "2.00 mm")], "No way of reading that is known fits"),
        ([(b"\1\2", "1.00 mm"), (b"\1", "2.00 mm"), (b"\3\4", "3.00 mm")], "No way of reading that is known fits"),
    ],
)
def test_what_cannot_be_learned_from_is_refused_with_the_reason(rows: list[Row], words: str) -> None:
    found = lesson(rows)
    assert found.fits == ()
    assert words in found.refusal


def test_one_known_value_is_never_enough() -> None:
    found = lesson([(little(3041), "30.41 mm"), (little(3041), "30.41 mm"), (little(3041), None)])
    assert found.fits
    assert found.ask is not None
    assert "clearly different" in found.ask.say


def test_readings_of_two_characteristics_are_learned_each_by_itself() -> None:
    first = capture([(little(3041), "30.41 mm"), (little(1250), "12.50 mm"), (little(1), "0.01 mm")])
    second = capture([(b"\0" + n.to_bytes(2, "big"), f"{n / 10} mm") for n in (111, 222)], OTHER)
    found = learn([*first, *second])
    assert [(fit.characteristic, fit.known) for fit in found.fits] == [(OWN, 3), (OTHER, 2)]


# --- the profile ----------------------------------------------------------------------------------------------------


def test_a_learned_profile_gives_no_reading_where_something_new_appears() -> None:
    rows: list[Row] = [(b"\xa5\x00" + little(n) + b"\x00", f"{n / 100:.2f} mm") for n in (3041, 1250, 777)]
    found = lesson(rows)
    profile = parse_profile(profile_text(found, found.fits[0], "depot-caliper", "Depot (7)"), "learned")
    assert str(hear(profile, b"\xa5\x00" + little(9999) + b"\x00")[0]) == "99.99 mm"
    new = [b"\xa4\x00\x01\x01\x00", b"\xa5\x01\x01\x01\x00", b"\xa5\x00\x01\x81\x00", b"\xa5\x00\x01\x01\x02"]
    assert [hear(profile, octets)[0].said for octets in new] == [None] * 4
    assert profile.recognise.matches("Depot (7)", [])
    assert (profile.kind, profile.values[0].role, profile.resolution) == ("caliper", "reading", "0.01 mm")


def test_a_torque_tool_becomes_a_torque_wrench() -> None:
    found = lesson([(little(980), "98.0 N·m"), (little(451), "45.1 N·m"), (little(-20), "-2.0 N·m")])
    profile = parse_profile(profile_text(found, found.fits[0]), "learned")
    assert (profile.kind, profile.values[0].role) == ("torque wrench", "peak")


def test_a_profile_that_could_not_read_a_known_frame_is_not_written() -> None:
    found = lesson([(little(3041), "30.41 mm"), (little(1250), "12.50 mm")])
    (fit,) = found.fits
    lost = replace(fit, readings={0: fit.readings[0]})
    with pytest.raises(BadInput, match=r"would be read as 12\.50 mm"):
        profile_text(found, lost)

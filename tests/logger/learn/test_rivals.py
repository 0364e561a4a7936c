"""Ways that are alike on every frame seen: the profile reads a frame as all of them do, or not at all."""

import json
import random

import pytest

from drivers.decode.check import broken, hear
from drivers.profile.profile import parse_profile
from logger.learn.capture import read_capture
from logger.learn.learn import learn
from logger.learn.profile import profile_text


def learned(rows: list[tuple[bytes, str]]) -> str:
    lines = [json.dumps({"characteristic": "FFE1", "hex": octets.hex(), "shown": shown}) for octets, shown in rows]
    lesson = learn(read_capture("\n".join(lines), "capture"))
    assert len(lesson.fits) == 1
    return profile_text(lesson, lesson.fits[0])


def written(count: int, width: int, order: str) -> bytes:
    return b"\xa5\x01" + count.to_bytes(width, "little" if order == "little" else "big", signed=True) + b"\x05"


@pytest.mark.parametrize("seed", range(12))
def test_a_number_wider_than_was_seen_is_read_rightly_or_not_at_all(seed: int) -> None:
    rng = random.Random(seed)
    width, order = rng.choice([3, 4, 5, 8]), rng.choice(["little", "big"])
    counts = [rng.randrange(300, 15000) for _ in range(3)] + [-rng.randrange(1, 1000)]
    profile = parse_profile(learned([(written(n, width, order), f"{n / 100:.2f} mm") for n in counts]), "learned")
    assert broken(profile) == ()
    read = 0
    for _ in range(300):
        count = rng.randrange(-(1 << rng.randrange(1, 23)), 1 << rng.randrange(1, 23))
        (heard,) = hear(profile, written(count, width, order))
        read += heard.said is not None
        assert heard.said is None or heard.said.value * 100 == count
    assert read > 50


def test_two_bits_that_both_went_with_the_sign_must_agree() -> None:
    rows = [(b"\xe1\x0b\x00\x00", "30.41 mm"), (b"\xd2\x04\x00\x00", "12.34 mm"), (b"\x00\x02\x01\x80", "-5.12 mm")]
    profile = parse_profile(learned(rows), "learned")
    assert [str(heard) for heard in hear(profile, b"\x01\x02\x01\x80")] == ["-5.13 mm"]
    for octets in (b"\x01\x02\x01\x00", b"\x01\x02\x00\x80"):
        (heard,) = hear(profile, octets)
        assert heard.said is None
        assert "in more than one way" in heard.reason

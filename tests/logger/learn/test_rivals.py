"""Ways that are alike on every frame seen: the profile reads a frame as all of them do, or not at all."""

import json
import random
from collections.abc import Iterable, Sequence

import pytest

from drivers.decode.check import broken, hear
from drivers.decode.numbers import read_number
from drivers.decode.said import Said
from drivers.profile.profile import parse_profile
from drivers.profile.values import NumberValue, OtherWay
from logger.learn import rivals
from logger.learn.capture import read_capture
from logger.learn.learn import learn
from logger.learn.number import NumberGuess
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


# --- which other ways are named -------------------------------------------------------------------------------------


def by_definition(value: NumberValue, alike: Iterable[rivals.Guess], frames: Sequence[bytes]) -> list[OtherWay]:
    """Return the other ways by what they are: each reads all frames seen alike, and some frame varied otherwise."""
    varied = [_turned(frame, bit) for frame in frames[: rivals.MOST_FRAMES] for bit in range(8 * len(frame))]
    kept: list[OtherWay] = []
    for guess in [each for each in alike if isinstance(each, NumberGuess)][: rivals.MOST_TRIED]:
        other = rivals._other(guess)
        if other is None or len(kept) == rivals.MOST_KEPT:
            continue
        so_far, with_it = (value.model_copy(update={"agree": tuple(ways)}) for ways in (kept, [*kept, other]))
        parts = any(rivals._reads(so_far, frame) and not rivals._reads(with_it, frame) for frame in varied)
        if parts and all(rivals._reads(with_it, frame) for frame in frames):
            kept.append(other)
    return kept


def _turned(frame: bytes, bit: int) -> bytes:
    changed = bytearray(frame)
    changed[bit // 8] ^= 1 << bit % 8
    return bytes(changed)


@pytest.mark.parametrize("seed", range(12))
def test_the_ways_named_are_those_that_part_where_a_bit_is_turned(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = random.Random(seed)
    width, order = rng.choice([2, 3, 4, 5]), rng.choice(["little", "big"])
    counts = [rng.randrange(300, 15000) for _ in range(3)] + [-rng.randrange(1, 1000)]
    rows = [(written(n, width, order) + bytes(2), f"{n / 100:.2f} mm") for n in counts]
    found: list[int] = []

    def both(value: NumberValue, alike: Iterable[rivals.Guess], frames: Sequence[bytes]) -> tuple[OtherWay, ...]:
        alike = tuple(alike)
        ways = rivals.others_of(value, alike, frames)
        assert list(ways) == by_definition(value, alike, frames)
        found.append(len(ways))
        return ways

    monkeypatch.setattr("logger.learn.profile.others_of", both)
    learned(rows)
    assert found


def test_long_frames_are_varied_only_where_two_ways_read(monkeypatch: pytest.MonkeyPatch) -> None:
    reads = 0
    rows = []
    for count in (3041, 152, 14999, 700):
        octets = count.to_bytes(2, "little")
        rows.append((b"\xa5" + bytes(6) + octets + bytes(91) + octets + bytes(410), f"{count / 100:.2f} mm"))
    true = read_number

    def counted(value: NumberValue, frame: bytes) -> Said:
        nonlocal reads
        reads += 1
        return true(value, frame)

    monkeypatch.setattr("logger.learn.rivals.read_number", counted)
    profile = parse_profile(learned(rows), "learned")
    (value,) = profile.values
    assert isinstance(value, NumberValue)
    assert value.agree
    assert 0 < reads < 20_000  # all bits of all frames would be 16,000 reads for each of 40 ways

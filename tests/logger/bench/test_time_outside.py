"""Times against the examples of RFC 3339, section 5.8 (as quoted in public test suites), and its own grammar."""

import re

import pytest

from logger.bench.replay import local_time
from logger.trail.clocks import utc_text

GRAMMAR = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")
"""RFC 3339, 5.6, date-time (from memory), with the capitals that this program writes."""


@pytest.mark.parametrize(
    ("utc_ns", "text"),
    [
        (482_196_050_520_000_000, "1985-04-12T23:20:50.520000Z"),
        (851_042_397_000_000_000, "1996-12-20T00:39:57.000000Z"),
        (-1_041_337_172_130_000_000, "1937-01-01T11:40:27.870000Z"),
        (0, "1970-01-01T00:00:00.000000Z"),
        (1_483_228_799_999_999_999, "2016-12-31T23:59:59.999999Z"),
    ],
)
def test_an_instant_is_written_as_published(utc_ns: int, text: str) -> None:
    assert utc_text(utc_ns) == text
    assert GRAMMAR.fullmatch(text)


def test_text_order_is_time_order() -> None:
    """Also where the fraction is zero, which plain ISO text would leave out."""
    times = [-1, 0, 1_000, 999_999_000, 10**9, 10**9 + 1_000, 1_772_366_400 * 10**9]
    assert sorted(map(utc_text, times)) == [utc_text(each) for each in times]


@pytest.mark.parametrize(
    ("utc", "offset", "shown"),
    [
        ("1996-12-20T00:39:57.000000Z", "-08:00", "1996-12-19 16:39:57.000-08:00"),
        ("1937-01-01T11:40:27.870000Z", "+00:20", "1937-01-01 12:00:27.870+00:20"),
        ("1985-04-12T23:20:50.520000Z", "+00:00", "1985-04-12 23:20:50.520+00:00"),
    ],
)
def test_local_time_is_the_published_one(utc: str, offset: str, shown: str) -> None:
    assert local_time(utc, offset) == shown


def test_the_hour_that_comes_twice_stays_two_hours() -> None:
    """2026-10-25, 02:30 in central Europe, first in summer time and then not: instants an hour apart."""
    first, second = "2026-10-25T00:30:00.000000Z", "2026-10-25T01:30:00.000000Z"
    assert local_time(first, "+02:00") == "2026-10-25 02:30:00.000+02:00"
    assert local_time(second, "+01:00") == "2026-10-25 02:30:00.000+01:00"
    assert first < second


@pytest.mark.parametrize("utc", ["1990-12-31T23:59:60Z", "24:00:00", "2026-02-30T00:00:00Z", ""])
def test_what_cannot_be_shown_locally_is_shown_as_it_is_stored(utc: str) -> None:
    """A leap second is valid in RFC 3339, and no time of Python's."""
    assert local_time(utc, "+01:00") == f"{utc} (+01:00)"

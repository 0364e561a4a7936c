from decimal import Decimal
from fractions import Fraction

import pytest

from logger.job import named
from tests.logger.walk import small


@pytest.mark.parametrize(
    ("count", "said"),
    [
        ("0", "leave it"),
        ("0.5", "half a flat tighter"),
        ("-0.5", "half a flat looser"),
        ("1", "1 flat tighter"),
        ("-2", "2 flats looser"),
        ("2.5", "2 and a half flats tighter"),
        ("1.5", "1 and a half flats tighter"),
        ("-10", "10 flats looser"),
        ("1.25", "1.25 flats tighter"),
        ("0.25", "0.25 flats tighter"),
    ],
)
def test_flats_as_a_person_says_them(count: str, said: str) -> None:
    assert named.flats(Decimal(count)) == said
    assert named.flats(Fraction(-2)) == "2 flats looser"


def test_names_that_hold_commas_are_told_apart() -> None:
    assert named.fastener_names(small().job, ("bolts",)) == "Bearing bolts, left; Bearing bolts, right"
    assert named.places_named(small().job, [("gap", "")]) == "Belt sag"


def test_a_reading_is_named_by_its_number_also_once_it_was_taken_back() -> None:
    walk = small(upto="measure:gap").read("45.0 mm")
    seq = walk.job.last_counted
    assert named.reading_named(walk.job, seq) == "45.0 mm for Belt sag"
    walk.back("misread")
    assert walk.job.last_counted != seq
    assert named.reading_named(walk.job, seq) == "45.0 mm for Belt sag"
    assert named.reading_named(walk.job, 9999) == ""

from decimal import Decimal
from fractions import Fraction

import pytest

from logger.job import named


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

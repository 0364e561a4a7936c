"""Words for a head: there and back, and no slip goes unnoticed."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.trail.anchorwords import WORDS, from_words, to_words

HASH = bytes.fromhex("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")


def test_there_are_256_words_that_cannot_be_mistaken_for_one_another() -> None:
    assert len(WORDS) == 256
    assert len({word[:3] for word in WORDS}) == 256
    assert all(4 <= len(word) <= 7 and word.isascii() and word.islower() for word in WORDS)
    assert min(_distance(one, other) for one, other in itertools.combinations(WORDS, 2)) >= 3


def _distance(one: str, other: str) -> int:
    """Edit distance (Levenshtein)."""
    row = list(range(len(other) + 1))
    for place, letter in enumerate(one, 1):
        before, row = row, [place]
        for at, against in enumerate(other, 1):
            row.append(min(row[-1] + 1, before[at] + 1, before[at - 1] + (letter != against)))
    return row[-1]


@given(st.integers(0, 10**12), st.binary(min_size=32, max_size=32))
def test_what_goes_into_words_comes_back(seq: int, digest: bytes) -> None:
    assert from_words(to_words(seq, digest)) == (seq, digest[:8])


def test_the_form_stays() -> None:
    """Words on paper must be readable by every later version."""
    said = to_words(41, HASH)
    assert said == "41 piano indigo beach pumpkin lizard adobe sensor vacuum piano"


def test_they_may_be_typed_as_people_type() -> None:
    said = to_words(1042, HASH)
    assert from_words(said.upper().replace(" ", " - ")) == from_words(said) == (1042, HASH[:8])


@pytest.mark.parametrize("place", range(10))
def test_one_other_word_or_number_is_noticed(place: int) -> None:
    """The check word is one byte: of a thousand slips at most a few go through; none here, with a fixed seed."""
    words = to_words(41, HASH).split()
    words[place] = "42" if place == 0 else WORDS[(WORDS.index(words[place]) + 1) % 256]
    with pytest.raises(BadInput, match="do not belong together"):
        from_words(" ".join(words))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "one number and nine words"),
        ("acorn badge", "one number and nine words"),
        ("41 acorn", "one number and nine words"),
        ("41 " + "acorn " * 10, "one number and nine words"),
        ("9" * 16 + " acorn" * 9, "one number and nine words"),
        ("٤١" + " acorn" * 9, "one number and nine words"),
        ("41 bxdge" + " acorn" * 8, "Perhaps badge"),
        ("41 qqq" + " acorn" * 8, "none of the words"),
        ("41 acosmic" + " acorn" * 8, "none of the words"),
    ],
)
def test_what_is_no_head_is_told(text: str, says: str) -> None:
    with pytest.raises(BadInput) as caught:
        from_words(text)
    assert says in str(caught.value)

"""Topics: read back what was made, refuse everything else."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.shop.topics import Address, BenchTopics, access_list, address, collected, is_id
from tests.collect.air import matches
from tests.collect.made import TRAIL

IDS = st.text("abcdefghijklmnopqrstuvwxyz0123456789-", min_size=1, max_size=32)


@given(IDS, IDS, st.integers(1, 10**15 - 1))
def test_an_event_topic_is_read_back(shop: str, bench: str, seq: int) -> None:
    topic = BenchTopics(shop, bench).event(TRAIL, seq)
    assert address(shop, topic) == Address(bench, "event", TRAIL, seq)
    assert any(matches(wanted, topic) for wanted in collected(shop))


@given(st.text(max_size=40))
def test_identifiers_follow_the_rule_of_the_homie_convention(text: str) -> None:
    """Homie 5, topic IDs: lower-case letters from a to z, numbers from 0 to 9 and the hyphen."""
    assert is_id(text) == (re.fullmatch("[a-z0-9-]{1,32}", text) is not None)


@pytest.mark.parametrize("bad", ["", "A", "a/b", "a+", "#", "a\0b", "a b", "é", "x" * 33, "a\n"])
def test_what_would_break_a_topic_is_refused(bad: str) -> None:
    with pytest.raises(BadInput, match="identifier"):
        BenchTopics("depot", bad)
    with pytest.raises(BadInput, match="identifier"):
        collected(bad)


@pytest.mark.parametrize(
    "topic",
    [
        f"other/1/bay-1/event/{TRAIL}/1",
        f"depot/2/bay-1/event/{TRAIL}/1",
        f"depot/1/BAY/event/{TRAIL}/1",
        "depot/1/bay-1/event/short/1",
        f"depot/1/bay-1/event/{TRAIL}/0",
        f"depot/1/bay-1/event/{TRAIL}/01",
        f"depot/1/bay-1/event/{TRAIL}/-1",
        f"depot/1/bay-1/event/{TRAIL}/1/2",
        f"depot/1/$collector/event/{TRAIL}/1",
        "depot/1/bay-1/state",
        "depot",
        "",
    ],
)
def test_other_topics_are_none_of_ours(topic: str) -> None:
    assert address("depot", topic) is None


def test_the_access_list_lets_a_bench_write_only_under_its_own_name() -> None:
    lines = access_list("depot").splitlines()
    written = [line for line in lines if line.startswith("pattern write")]
    assert written
    assert all("/%u/" in line for line in written)
    assert not any("$ack" in line for line in written)

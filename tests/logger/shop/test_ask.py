"""The head that a shop acknowledged, asked of the broker."""

from collections.abc import Iterable

import pytest

from logger.errors import BadInput, NothingToTalkTo
from logger.shop.ask import acknowledged
from logger.shop.topics import BenchTopics
from logger.shop.wire import Ack, pack
from logger.shop.wireport import Message
from tests.collect.air import Air, FakeBroker
from tests.collect.made import SHOP, TRAIL

TOPICS = BenchTopics(SHOP, "bay-1")


def air_with(acks: Iterable[tuple[str, int]]) -> Air:
    air = Air()
    for bench, seq in acks:
        ack = Ack(bench=bench, trail=TRAIL, seq=seq, hash=f"{seq:064x}")
        air.spread(Message(BenchTopics(SHOP, bench).of("$ack"), pack(ack), retain=True))
    return air


async def test_it_is_what_was_retained_for_this_bench() -> None:
    found = await acknowledged(FakeBroker(air_with([("bay-2", 9), ("bay-1", 7)]), "asks"), TOPICS)
    assert (found.seq, found.hash, found.trail) == (7, (7).to_bytes(32), TRAIL)


@pytest.mark.parametrize("acks", [[], [("bay-2", 9)], [("bay-1", 0)]])
async def test_where_nothing_is_kept_it_says_so(acks: list[tuple[str, int]]) -> None:
    with pytest.raises(BadInput, match="acknowledged nothing of this bench"):
        await acknowledged(FakeBroker(air_with(acks), "asks"), TOPICS, within_s=0.05)


async def test_noise_in_its_place_is_refused() -> None:
    air = Air()
    air.spread(Message(TOPICS.of("$ack"), b'{"v":1,"seq":NaN}', retain=True))
    with pytest.raises(BadInput):
        await acknowledged(FakeBroker(air, "asks"), TOPICS)


async def test_without_a_broker_nothing_is_claimed() -> None:
    with pytest.raises(NothingToTalkTo, match=r"^(?!.*by itself).*Start it, or look at \[shop\] in settings\.toml\.$"):
        await acknowledged(FakeBroker(Air(is_up=False), "asks"), TOPICS)

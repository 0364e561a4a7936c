"""MQTT from anyone on the broker: topics and payloads to the collector, to a bench and to whoever watches."""

import json
import tracemalloc
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.collector.check import Arrived, Refused, check
from logger.collector.view import EMPTY, seen
from logger.errors import BadInput
from logger.shop.topics import address, collected
from logger.shop.wire import (
    MAX_PAYLOAD,
    MODELS,
    Ack,
    Again,
    BenchHead,
    BenchState,
    EventSent,
    JobNow,
    Nack,
    pack,
    unpack,
)
from logger.shop.wireport import Message
from logger.trail.canonical import digest, encode
from tests.collect.made import SHOP, TRAIL, chain, record, sent
from tests.fuzz import VALUES, fuzzed, misfilled, spoiled, spoiled_octets, told

HASH = "a" * 64
EVENTS = [sent(event) for event in chain(3)]
SAID = [
    BenchState(bench="bay-1", session=7, state="ready", instance="0" * 16, program="1"),
    BenchHead(bench="bay-1", session=7, trail=TRAIL, seq=3, hash=HASH),
    JobNow(bench="bay-1", session=7, job="j1", by="R", machine="7", sheet="s", prompt="p", verdicts={"inside": 2}),
    Ack(bench="bay-1", trail=TRAIL, seq=3, hash=HASH),
    Again(bench="bay-1", trail=TRAIL, first=1, last=3),
    Nack(bench="bay-1", trail=TRAIL, seq=3, kind="refused", reason="no"),
]
PAYLOADS = [*(each.payload for each in EVENTS), *(pack(each) for each in SAID)]
TREES = [json.loads(payload) for payload in PAYLOADS]
TOPICS = [EVENTS[0].topic, f"{SHOP}/1/bay-1/$state", f"{SHOP}/1/bay-1/$head", f"{SHOP}/1/bay-1/$ack", *collected(SHOP)]
BOMBS = {
    "arrays": b"[" * MAX_PAYLOAD,
    "objects": b'{"a":' * (MAX_PAYLOAD // 5),
    "digits": b'{"seq": ' + b"9" * 900_000 + b"}",
    "exponent": b'{"seq": 1e999999999}',
    "empty arrays": b'{"a": [' + b"[]," * 100_000 + b"[]]}",
    "empty arrays for a record": b'{"record": [' + b"[]," * 100_000 + b"[]]}",
    "keys": b"{" + b",".join(b'"%d":0' % n for n in range(30_000)) + b"}",
    "a payload of 100 MB": b"x" * 100_000_000,
    "a record of nesting": json.dumps({**TREES[0], "record": "[" * 500_000}).encode(),
    "a record of digits": json.dumps({**TREES[0], "record": '{"seq":' + "9" * 500_000 + "}"}).encode(),
}


def said_of(topic: str, payload: bytes) -> None:
    """Give a message to everyone who could receive one."""
    message = Message(topic, payload)
    assert not told(lambda: check(SHOP, message))
    assert not told(lambda: seen(EMPTY, SHOP, message))
    found = check(SHOP, message)
    if isinstance(found, Refused):
        assert 0 < len(found.reason) < 1000
    for model in MODELS:
        assert len(told(lambda model=model: unpack(model, payload))) < 1000  # type: ignore[misc]


@pytest.mark.parametrize("name", BOMBS)
@pytest.mark.parametrize("topic", TOPICS[:3])
def test_a_bomb_is_refused_in_the_room_of_a_payload(name: str, topic: str) -> None:
    tracemalloc.start()
    try:
        assert isinstance(check(SHOP, Message(topic, BOMBS[name])), Refused)
        assert tracemalloc.get_traced_memory()[1] < 60 * min(len(BOMBS[name]), MAX_PAYLOAD) + (4 << 20)
    finally:
        tracemalloc.stop()


@fuzzed(60)
@given(st.text(max_size=60) | spoiled(st.sampled_from(TOPICS)))
def test_fuzz_any_topic_is_an_address_or_none(topic: str) -> None:
    found = address(SHOP, topic)
    assert found is None or 0 <= found.seq < 10**15
    said_of(topic, PAYLOADS[0])


@fuzzed(60)
@given(st.sampled_from(TOPICS), st.binary(max_size=200) | st.text(max_size=200).map(lambda text: text.encode()))
def test_fuzz_any_payload(topic: str, payload: bytes) -> None:
    said_of(topic, payload)


@fuzzed(80)
@given(st.sampled_from(TOPICS), spoiled_octets(st.sampled_from(PAYLOADS)))
def test_fuzz_a_payload_with_octets_changed(topic: str, payload: bytes) -> None:
    said_of(topic, payload)


@fuzzed(80)
@given(st.sampled_from(TOPICS), spoiled(st.sampled_from([payload.decode() for payload in PAYLOADS])))
def test_fuzz_a_payload_with_a_few_changes(topic: str, payload: str) -> None:
    said_of(topic, payload.encode("utf-8", "surrogatepass"))


@fuzzed(80)
@given(st.sampled_from(TOPICS), misfilled(st.sampled_from(TREES)))
def test_fuzz_a_payload_with_other_values(topic: str, tree: object) -> None:
    said_of(topic, json.dumps(tree).encode())


@fuzzed(80)
@given(misfilled(st.just(record(1))) | VALUES)
def test_fuzz_an_event_whose_hash_fits_and_whose_record_is_anything(tree: object) -> None:
    """It is kept where it is canonical, also when this version cannot read it; and refused in words otherwise."""
    prev = chain(1)[0].prev
    try:
        data = encode(tree) if isinstance(tree, dict) else json.dumps(tree).encode()
    except BadInput:  # what no record can hold
        return
    good = EventSent.model_validate_json(EVENTS[0].payload)
    event = good.model_copy(
        update={"record": data.decode("utf-8", "replace"), "prev": prev.hex(), "hash": digest(prev, data).hex()}
    )
    found = check(SHOP, replace(EVENTS[0], payload=json.dumps(event.model_dump()).encode()))
    assert isinstance(found, Arrived | Refused)
    assert not isinstance(found, Arrived) or len(found.unread) < 300


@pytest.mark.parametrize("event", [{f"k{n}": 0 for n in range(20_000)}, {"kind": "noted", "text": "x" * 900_000}])
def test_a_record_of_many_unknown_things_is_kept_and_told_in_a_few_words(
    event: dict[str, object],
) -> None:
    prev, known = chain(1)[0].prev, {"kind": "noted", "step": "", "text": "x"}
    data = encode(record(1) | {"event": known | event})
    good = EventSent.model_validate_json(EVENTS[0].payload)
    event_sent = good.model_copy(update={"record": data.decode(), "prev": prev.hex(), "hash": digest(prev, data).hex()})
    found = check(SHOP, replace(EVENTS[0], payload=pack(event_sent)))
    assert isinstance(found, Arrived)
    assert found.data == data
    assert 0 < len(found.unread) < 300

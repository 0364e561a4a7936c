"""Payloads: what is packed is unpacked; whatever is not strictly one of ours is refused, and quickly."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.errors import BadInput
from logger.shop.wire import MAX_PAYLOAD, MODELS, Ack, BenchState, EventSent, JobNow, pack, schema, unpack
from tests.collect.made import TRAIL, chain, sent
from tests.logger.trail.canonically import is_canonical

HASH = "a" * 64
ACK = {"v": 1, "bench": "bay-1", "trail": TRAIL, "seq": 3, "hash": HASH}


@given(st.integers(0, 2**53 - 1))
def test_what_is_packed_is_unpacked(seq: int) -> None:
    ack = Ack(bench="bay-1", trail=TRAIL, seq=seq, hash=HASH)
    assert unpack(Ack, pack(ack)) == ack
    assert is_canonical(pack(ack))


@given(st.text())
def test_the_bytes_of_a_record_come_back_exactly(text: str) -> None:
    event = chain(1, text=text.encode("utf-8", "replace").decode())[0]
    assert unpack(EventSent, sent(event).payload).record.encode() == event.bytes


def spoiled(**changed: object) -> bytes:
    return json.dumps({**ACK, **changed}).encode()


HOSTILE = [
    b"",
    b"\xff\xfe{\x00}\x00",
    json.dumps(ACK).encode("utf-16"),
    b'{"seq":NaN}',
    b'{"seq":1e400}',
    b"[" * 100_000,
    b'{"a":' * 100_000,
    b" " * (MAX_PAYLOAD + 1),
    b"null",
    b"[]",
    json.dumps(ACK).encode()[:-1] + b',"seq":4}',
    spoiled(seq="3"),
    spoiled(seq=3.0),
    spoiled(seq=True),
    spoiled(seq=-1),
    spoiled(seq=2**53),
    spoiled(v=2),
    spoiled(more=1),
    spoiled(bench="BAY"),
    spoiled(bench="bay-1\n"),
    spoiled(bench="../x"),
    spoiled(trail=TRAIL.upper()),
    spoiled(hash=HASH + "\n"),
    spoiled(hash="g" * 64),
    b'{"v":1,"bench":"\\ud800"}',
    b"9" * 5000,
]


@pytest.mark.parametrize("data", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_payloads_are_refused_with_a_short_sentence(data: bytes) -> None:
    with pytest.raises(BadInput) as told:
        unpack(Ack, data)
    assert len(str(told.value)) < 500


@given(st.binary(max_size=200))
def test_noise_is_refused(data: bytes) -> None:
    with pytest.raises(BadInput):
        unpack(BenchState, data)


def test_the_schema_names_every_payload_and_forbids_what_it_does_not_name() -> None:
    made = schema()
    definitions = made["$defs"]
    assert isinstance(definitions, dict)
    assert {model.__name__ for model in MODELS} <= set(definitions)
    assert all(definitions[model.__name__]["additionalProperties"] is False for model in MODELS)
    assert definitions["EventSent"]["properties"]["hash"]["pattern"] == "^[0-9a-f]{64}$"


def test_no_payload_can_hold_a_reading_as_a_float() -> None:
    assert '"number"' not in json.dumps(schema())
    assert set(JobNow.model_fields) >= {"by", "machine", "prompt", "verdicts", "overrides"}

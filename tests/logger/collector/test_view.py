"""All benches at a glance: births, late wills, forgeries, noise."""

from hypothesis import given
from hypothesis import strategies as st

from logger.collector.view import EMPTY, MOST_BENCHES, BenchRow, Floor, counts, seen
from logger.shop.topics import BenchTopics, collector_state
from logger.shop.wire import BenchState, CollectorState, JobNow, Life, Wire, pack
from logger.shop.wireport import Message

SHOP = "depot"


def said(leaf: str, payload: Wire, bench: str = "bay-1") -> Message:
    return Message(BenchTopics(SHOP, bench).of(leaf), pack(payload), retain=True)


def state(session: int, word: Life, bench: str = "bay-1") -> Message:
    return said("$state", BenchState(bench=bench, session=session, state=word, instance="0" * 16), bench)


def job(bench: str = "bay-1", **more: object) -> JobNow:
    base = JobNow(bench=bench, session=1, job="j1", by="Robin", machine="Depot 7", sheet="s", prompt="p", verdicts={})
    return base.model_copy(update=more)


def fold(*messages: Message, floor: Floor = EMPTY) -> Floor:
    for message in messages:
        floor = seen(floor, SHOP, message)
    return floor


def test_a_bench_comes_works_and_goes() -> None:
    floor = fold(state(1, "ready"), said("$job", job()))
    assert floor.rows["bay-1"].here
    assert floor.rows["bay-1"].job == job()
    assert not fold(state(1, "disconnected"), floor=floor).rows["bay-1"].here


def test_a_late_last_will_of_an_earlier_connection_is_ignored() -> None:
    floor = fold(state(2, "ready"), state(1, "lost"))
    assert floor.rows["bay-1"].here
    assert fold(state(2, "lost"), floor=floor).rows["bay-1"].state == "lost"


def test_a_bench_cannot_speak_for_another() -> None:
    floor = fold(
        said("$job", job("bay-2")),
        said("$state", BenchState(bench="bay-2", session=1, state="ready", instance="0" * 16)),
    )
    assert floor.rows == {}
    assert floor.refused == 2


def test_whether_anyone_collects_is_seen() -> None:
    payload = pack(CollectorState(session=1, state="ready"))
    assert fold(Message(collector_state(SHOP), payload)).collector == "ready"


def test_overrides_come_first() -> None:
    floor = fold(said("$job", job("bay-1")), said("$job", job("bay-9", overrides=("slack",)), "bay-9"))
    floor = fold(said("$job", job("bay-9", overrides=("slack",)), "bay-9"), floor=floor)
    assert next(row.bench for row in floor.in_order()) == "bay-9"


@given(st.binary(max_size=60), st.sampled_from(["$state", "$job", "$head", "event/1"]))
def test_noise_only_counts(data: bytes, leaf: str) -> None:
    assert fold(Message(BenchTopics(SHOP, "bay-1").of(leaf), data)).rows == {}


def test_a_flood_of_names_is_bounded() -> None:
    full = Floor({f"b-{number}": BenchRow(f"b-{number}") for number in range(MOST_BENCHES)})
    assert len(fold(state(1, "ready"), floor=full).rows) == MOST_BENCHES


def test_verdicts_are_counted_in_words() -> None:
    assert counts(job(verdicts={"inside": 3, "low": 1, "done": 0})) == "3 inside, 1 low"

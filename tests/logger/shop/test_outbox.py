"""Both ends over a broker in memory: nothing lost, nothing doubled, nothing waited for, whatever the broker does."""

import asyncio
import random
from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import pytest

from logger.shop.outbox import Outbox
from logger.shop.outboxtrail import Cursor, CursorFile, TrailSource
from logger.shop.topics import BenchTopics, collector_state
from logger.shop.wire import Ack, BenchState, CollectorState, JobNow, pack, unpack
from logger.shop.wireport import Message
from logger.trail.canonical import genesis
from logger.trail.trail import Trail
from tests.collect.air import FakeBroker
from tests.collect.made import SHOP, TRAIL, ListSource, chain, record
from tests.collect.memory import QUICK, Failing, Hall, level, stands, until

BAY = BenchTopics(SHOP, "bay-1")


@pytest.fixture(autouse=True)
def _no_long_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in ("logger.shop.outbox", "logger.collector.collector"):
        monkeypatch.setattr(f"{module}.wait_before", lambda attempt, share: 0.001)


@pytest.fixture
async def hall(tmp_path: Path) -> AsyncIterator[Hall]:
    found = Hall(tmp_path)
    yield found
    for name in list(found.tasks):
        await found.end(name)


async def test_a_trail_reaches_the_shop_in_order(hall: Hall) -> None:
    hall.collect()
    outbox = hall.send(ListSource(chain(300)))
    await level(outbox)
    assert hall.kept() == {"bay-1": 300}
    assert outbox.status.owed == 0


async def test_who_leaves_can_wait_until_the_last_event_is_kept(hall: Hall) -> None:
    source, events = ListSource(chain(10)), chain(70)
    outbox = hall.send(source)
    await outbox.until_kept()  # nobody takes anything yet
    hall.collect()
    await level(outbox)
    source.events = events
    outbox.offer(job_now("Job closed"))
    await outbox.until_kept()
    assert hall.kept() == {"bay-1": 70}
    assert unpack(JobNow, hall.air.retained[BAY.of("$job")].payload).prompt == "Job closed"


async def test_who_leaves_waits_for_nobody_who_is_gone(hall: Hall) -> None:
    hall.collect()
    source = ListSource(chain(5))
    outbox = hall.send(source)
    await level(outbox)
    source.events += chain(3, after=source.events[-1])
    waiting = asyncio.get_running_loop().create_task(outbox.until_kept())
    hall.air.die()
    await waiting


async def test_what_is_measured_meanwhile_follows(hall: Hall) -> None:
    source = ListSource(chain(3))
    hall.collect()
    outbox = hall.send(source)
    await level(outbox)
    source.events += chain(4, after=source.events[-1])
    await until(lambda: hall.kept() == {"bay-1": 7})


async def test_nothing_is_sent_into_the_void(hall: Hall) -> None:
    outbox = hall.send(ListSource(chain(10)))
    await until(lambda: outbox.status.standing == "waiting")
    assert not [message for message in hall.air.log if "/event/" in message.topic]
    assert outbox.status.owed == 10
    hall.collect()
    await level(outbox)


async def test_a_broker_that_is_away_for_long_costs_no_memory_and_no_event(hall: Hall) -> None:
    hall.air.is_up = False
    source = ListSource(chain(2000))
    outbox = hall.send(source)
    await until(lambda: hall.told[-1:] != [])
    assert outbox.status.standing == "away"
    assert outbox._hashes == {}
    hall.air.is_up = True
    hall.collect()
    await level(outbox)
    assert hall.kept() == {"bay-1": 2000}
    assert len(outbox._hashes) <= 64


async def test_a_broker_that_dies_and_forgets_loses_nothing(hall: Hall) -> None:
    hall.collect()
    source = ListSource(chain(400))
    outbox = hall.send(source)
    for _ in range(3):
        await until(lambda: any("/event/" in message.topic for message in hall.air.log[-50:]) or not outbox.status.owed)
        hall.air.die(forget=True)
        hall.air.is_up = True
    await until(lambda: hall.kept() == {"bay-1": 400})
    assert hall.alarms() == []


async def test_loss_doubles_and_disorder_on_the_way_change_nothing(hall: Hall) -> None:
    draw, held = random.Random(3), list[Message]()

    def tamper(message: Message) -> Iterator[Message]:
        if "/event/" not in message.topic:
            yield message
            return
        fate = draw.random()
        if fate < 0.1:
            return
        if fate < 0.2:
            held.append(message)
            return
        yield message
        if fate < 0.4:
            yield message
        if held and fate > 0.8:
            yield held.pop(draw.randrange(len(held)))

    hall.air.tamper = tamper
    hall.collect()
    outbox = hall.send(ListSource(chain(300)))
    await until(lambda: hall.kept() == {"bay-1": 300})
    await level(outbox)
    assert hall.alarms() == []


async def test_a_collector_whose_disk_is_full_for_a_while_acknowledges_nothing_it_does_not_have(hall: Hall) -> None:
    hall.collect(lambda store: Failing(store, 3))
    outbox = hall.send(ListSource(chain(100)))
    await level(outbox)
    assert hall.kept() == {"bay-1": 100}


async def test_a_collector_that_lost_its_store_gets_everything_again(hall: Hall) -> None:
    hall.collect()
    outbox = hall.send(ListSource(chain(50)))
    await level(outbox)
    await hall.kill("collector")
    for file in hall.folder.glob("shop.sqlite*"):
        file.unlink()
    hall.collect()
    await until(lambda: hall.kept() == {"bay-1": 50})


async def test_many_benches_do_not_mix(hall: Hall) -> None:
    hall.collect()
    trails = {f"bay-{number}": f"{number:032x}" for number in range(1, 9)}
    for bench, trail in trails.items():
        hall.send(ListSource(chain(60, trail=trail, text=bench), trail), bench)
    await until(lambda: hall.kept() == dict.fromkeys(trails, 60))
    assert hall.alarms() == []


async def test_a_poisoned_event_does_not_hold_up_the_rest(hall: Hall) -> None:
    spoiled = BAY.event(TRAIL, 4)

    def tamper(message: Message) -> Iterator[Message]:
        yield Message(message.topic, b"{", message.retain) if message.topic == spoiled else message

    hall.air.tamper = tamper
    hall.collect()
    outbox = hall.send(ListSource(chain(9)))
    await until(lambda: hall.kept() == {"bay-1": 9})
    assert hall.alarms() == ["parked"]
    await level(outbox)


async def test_a_poisoned_last_event_is_given_up_and_told(hall: Hall) -> None:
    spoiled = BAY.event(TRAIL, 4)
    hall.air.tamper = lambda each: (Message(each.topic, b"{", each.retain) if each.topic == spoiled else each,)
    hall.collect()
    outbox = hall.send(ListSource(chain(4)))
    await until(lambda: outbox.status.standing == "level" and hall.alarms() == ["parked"])
    assert (outbox.status.owed, hall.kept()) == (1, {"bay-1": 3})


async def test_a_trail_that_was_cut_stops_and_says_so(hall: Hall) -> None:
    events = chain(20)
    hall.collect()
    await level(hall.send(ListSource(events)))
    await hall.end("bay-1")
    (hall.folder / "bay-1.json").unlink()  # the cursor is of no help to whoever cuts a trail
    outbox = hall.send(ListSource(events[:12]))
    await until(lambda: outbox.status.standing == "conflict")
    assert "more than there are here" in outbox.status.said
    await until(lambda: hall.alarms() == ["cut"])


async def test_a_trail_that_was_written_anew_stops_and_says_so(hall: Hall) -> None:
    hall.collect()
    await level(hall.send(ListSource(chain(20))))
    await hall.end("bay-1")
    outbox = hall.send(ListSource(chain(25, text="written anew")))
    await until(lambda: outbox.status.standing == "conflict")
    assert hall.kept() == {"bay-1": 20}


async def test_two_benches_of_one_name_stop_throwing_each_other_out(
    hall: Hall, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("logger.shop.outbox.wait_before", lambda attempt, share: 0.05)
    hall.collect()
    one = hall.send(ListSource(chain(3)), client="one")
    other = hall.send(ListSource(chain(3)), client="other")
    await until(lambda: "doubled" in (one.status.standing, other.status.standing))
    assert any("give each its own name" in status.said for status in hall.told)


async def test_only_states_are_retained(hall: Hall) -> None:
    hall.collect()
    outbox = hall.send(ListSource(chain(10)))
    outbox.offer(job_now("measure slack"))
    await level(outbox)
    await until(lambda: BAY.of("$job") in hall.air.retained)
    assert not [topic for topic in hall.air.retained if "/event/" in topic]
    assert unpack(JobNow, hall.air.retained[BAY.of("$job")].payload).bench == "bay-1"


def job_now(prompt: str) -> JobNow:
    return JobNow(
        bench="x", session=0, job="j1", by="Robin", machine="Depot 7", sheet="s", prompt=prompt, verdicts={"inside": 2}
    )


async def test_births_wills_and_ends_carry_the_session(hall: Hall) -> None:
    hall.collect()
    await level(hall.send(ListSource(chain(1))))
    birth = unpack(BenchState, hall.air.retained[BAY.of("$state")].payload)
    assert birth.state == "ready"
    await hall.kill("bay-1")
    will = unpack(BenchState, hall.air.retained[BAY.of("$state")].payload)
    assert (will.state, will.session) == ("lost", birth.session)
    await level(hall.send(ListSource(chain(1))))
    again = unpack(BenchState, hall.air.retained[BAY.of("$state")].payload)
    assert again.session > birth.session
    await hall.end("bay-1")
    assert unpack(BenchState, hall.air.retained[BAY.of("$state")].payload).state == "disconnected"


async def test_a_late_last_will_of_an_earlier_collector_changes_nothing(hall: Hall) -> None:
    source = ListSource(chain(3))
    hall.collect()
    outbox = hall.send(source)
    await level(outbox)
    late = Message(collector_state(SHOP), pack(CollectorState(session=1, state="lost")))
    hall.air.spread(late)
    source.events += chain(2, after=source.events[-1])
    await until(lambda: hall.kept() == {"bay-1": 5})
    assert outbox.status.standing != "waiting"


async def test_sessions_are_numbered_upwards_though_the_clock_is_put_back(
    hall: Hall, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else a birth would be taken for the end of an earlier connection."""
    sessions = []
    for seconds in (2_000_000_000, 1_000, 1_500_000_000):
        monkeypatch.setattr("logger.shop.outbox.time.time_ns", lambda now=seconds: now * 10**9)
        outbox = hall.send(ListSource(chain(1)))
        await stands(outbox, "waiting")
        await hall.end("bay-1")
        states = [unpack(BenchState, each.payload) for each in hall.air.of("bay-1/$state")]
        sessions.append(states[-1].session)
    assert sessions == sorted(set(sessions))


async def test_a_collector_that_goes_away_says_so_or_its_last_will_does(hall: Hall) -> None:
    def state() -> str:
        return unpack(CollectorState, hall.air.retained[collector_state(SHOP)].payload).state

    hall.collect()
    await until(lambda: collector_state(SHOP) in hall.air.retained)
    assert state() == "ready"
    await hall.kill("collector")
    assert state() == "lost"
    hall.collect()
    await until(lambda: state() == "ready")
    await hall.end("collector")
    assert state() == "disconnected"


@pytest.mark.parametrize(
    "payload", [b"", b"[" * 100_000, b'{"seq":NaN}', pack(Ack(bench="bay-2", trail=TRAIL, seq=9, hash="0" * 64))]
)
async def test_nonsense_from_the_collectors_side_changes_nothing(hall: Hall, payload: bytes) -> None:
    hall.collect()
    outbox = hall.send(ListSource(chain(5)))
    await level(outbox)
    for leaf in ("$again", "$nack", "$ack", "$state"):
        hall.air.spread(Message(BAY.of(leaf), payload))
    hall.air.spread(Message(collector_state(SHOP), payload))
    hall.air.spread(Message("elsewhere", payload))
    await until(lambda: hall.air.lines["bay-1"].waiting() == 0)
    assert hall.kept() == {"bay-1": 5}
    assert not hall.tasks["bay-1"].done()


async def test_a_real_trail_is_sent_while_it_is_written(hall: Hall) -> None:
    path = hall.folder / "trail.sqlite"
    with Trail.open(path) as trail:
        for seq in range(1, 6):
            await trail.append({key: value for key, value in record(seq).items() if key != "seq"})
        source = TrailSource(path)
        assert source.hash_at(0) == genesis(trail.trail_id)
        assert source.hash_at(99) is None
        hall.collect()
        outbox = Outbox(source, FakeBroker(hall.air, "bay-1"), BAY, CursorFile(hall.folder / "c.json"), timing=QUICK)
        hall.tasks["bay-1"] = asyncio.get_running_loop().create_task(outbox.run())
        await level(outbox)
        await trail.append({key: value for key, value in record(6).items() if key != "seq"})
        await until(lambda: hall.kept() == {"bay-1": 6} and outbox._cursor.seq == 6)
    await hall.end("bay-1")
    assert CursorFile(hall.folder / "c.json").load().seq == 6


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "null", '{"trail": 1}', '{"trail":"t","seq":-1,"hash":"","session":1}']
)
def test_a_cursor_that_cannot_be_read_is_begun_anew(tmp_path: Path, text: str) -> None:
    path = tmp_path / "outbox.json"
    path.write_text(text)
    assert CursorFile(path).load() == Cursor()
    CursorFile(path).save(Cursor("t", 3, "h", 9))
    assert CursorFile(path).load() == Cursor("t", 3, "h", 9)

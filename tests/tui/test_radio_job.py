"""The program as it is started, on bleak's real Linux backend: whole jobs with tools, faults on the way, signals."""

import signal
from pathlib import Path

import pytest

from logger import events as ev
from simulators.bluez.private_bus import missing
from tests.bench.radio_faults import suffer
from tests.bench.radiofaultlist import FAULTS
from tests.played import WHOLE
from tests.radio_job import CALIPER, START, WANTED, WRENCH, counted, radio_job, taken

pytestmark = pytest.mark.skipif(bool(missing()), reason=missing() or "there is a bus")


async def test_a_whole_job_is_read_from_tools_and_closed(own_home: Path) -> None:
    async with radio_job(own_home) as job:
        session = await job.begin(*START)
        await session.ready(CALIPER, WRENCH)
        await job.play()
        assert await job.finish() == 0
        assert (await job.remote.tell("state"))["connected"] == []
    found = job.events()
    assert isinstance(found[-1].event, ev.JobClosed)
    assert counted(found) == WANTED
    assert len(taken(found)) == len(WANTED)
    assert {each.source for each in taken(found)} == {"sig"}


async def test_a_service_killed_in_the_middle_is_survived_without_a_key(own_home: Path) -> None:
    async with radio_job(own_home) as job:
        session = await job.begin(*START)
        await session.ready(CALIPER, WRENCH)
        for number, line in enumerate(WHOLE):
            if number in (7, 24):
                await job.remote.kill()
                await session.until(lambda: any("The Bluetooth service has stopped" in line for line in session.said))
                await session.until(lambda: session.links == {CALIPER: "lost", WRENCH: "lost"} | _radio(session.links))
                session.said.clear()
                await job.remote.start()
            await job.step(line)
        assert await job.finish() == 0
    assert counted(job.events()) == WANTED
    assert len(taken(job.events())) == len(WANTED)


@pytest.mark.parametrize(
    ("fault", "on_trail"),
    [
        ("tool asleep, woken by its button", 22),
        ("adapter off and on", 22),
        ("link dropped, InProgress three times", 22),
        ("each notification twice from here on", 42),
        ("three frames of garbage", 25),
        ("link dropped in the middle of a pull", 28),
    ],
)
async def test_whatever_goes_wrong_nothing_is_lost_and_nothing_counts_twice(
    own_home: Path, fault: str, on_trail: int
) -> None:
    (found,) = (each for each in FAULTS if each.name == fault)
    row = await suffer(found, own_home)
    assert row.right, "exactly what the job asked for counted, in order"
    assert row.code == 0
    assert row.on_trail == on_trail
    assert (row.ready_s is not None) == bool(found.tool)


def _radio(links: dict[str, str]) -> dict[str, str]:
    return {tool: link for tool, link in links.items() if tool not in (CALIPER, WRENCH)}


async def test_a_killed_program_takes_its_tools_up_again(own_home: Path) -> None:
    async with radio_job(own_home) as job:
        session = await job.begin(*START)
        await session.ready(CALIPER, WRENCH)
        await job.play(WHOLE[:8])
        session.process.kill()
        await job.finish()
        assert set((await job.remote.tell("state"))["connected"]) == {CALIPER, WRENCH}
        session = await job.begin("resume", "--plain")
        await session.ready(CALIPER, WRENCH)
        await job.play(WHOLE[8:])
        assert await job.finish() == 0
        assert (await job.remote.tell("state"))["connected"] == []
    assert counted(job.events()) == WANTED


@pytest.mark.kill
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
@pytest.mark.parametrize("when", ["ready", "connecting"])
async def test_a_signal_leaves_no_tool_connected(own_home: Path, number: signal.Signals, when: str) -> None:
    async with radio_job(own_home) as job:
        if when == "connecting":
            await job.remote.tell("hang", "StartNotify", 1)
        session = await job.begin(*START)
        if when == "connecting":
            await session.until(lambda: any(line.endswith("connecting") for line in session.said))
        else:
            await session.ready(CALIPER, WRENCH)
        session.process.send_signal(number)
        assert await job.finish() == 128 + number
        assert (await job.remote.tell("state"))["connected"] == []
    *_, last = job.events()
    assert last.event == ev.Interrupted(why=f"ended by {number.name}")

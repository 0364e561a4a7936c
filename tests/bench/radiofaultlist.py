"""What goes wrong on the radio in the middle of a job, one fault a function; `radio_faults` runs a job under each."""

import asyncio
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from drivers.profile.backlog import USUAL
from tests.played import ADJUSTED, WHOLE
from tests.radio_job import CALIPER, WRENCH, RadioJob, curve_to

AT = 7
"""Before this step, a reading of the caliper, things go wrong."""
PULL = WHOLE.index("98 N·m")
"""This step is a pull."""
AGAIN = ADJUSTED[3:]
IN_PROGRESS = "org.bluez.Error.InProgress"


@dataclass
class Run:
    """One job under one fault."""

    job: RadioJob
    sent: int = 0
    over_ns: int = 0
    """The monotonic moment at which the fault itself was over; what follows is recovery."""
    said_before: int = 0

    def over(self) -> None:
        """Note that the fault is over from now on; what follows is recovery."""
        self.over_ns = time.monotonic_ns()

    async def tell(self, *words: object) -> None:
        """Tell the stand-in to do something."""
        await self.job.remote.tell(*words)

    async def until_told(self, words: str) -> None:
        """Wait until the person has been told something since the fault."""
        session = self.job.session
        await session.until(lambda: any(words in line for line in session.said[self.said_before :]))

    async def count(self) -> None:
        """Add what the caliper has sent to the count; a pull is counted where it is begun."""
        self.sent += (await self.job.remote.tell("state"))["sent"][CALIPER]


Inject = Callable[[Run], Awaitable[None]]


async def none(_: Run) -> None:
    """Nothing goes wrong."""


async def drop(run: Run) -> None:
    await run.tell("drop", CALIPER)


async def drop_after_press(run: Run) -> None:
    before = run.job.session.prompt
    run.job.remote.begin("press", CALIPER, WHOLE[AT].split()[0])
    await run.tell("drop", CALIPER)
    await run.job.session.until(lambda: run.job.session.prompt != before)


async def backlog(run: Run) -> None:
    """The caliper measures out of reach, and sends that as soon as it is back."""
    await run.tell("keep", CALIPER, "55.5", "55.6", "55.7")
    await run.tell("drop", CALIPER)
    await run.until_told("55.70 mm")
    await asyncio.sleep(USUAL.press_ms / 1000)  # nobody presses sooner


async def leak(run: Run) -> None:
    """A subscription outlives its link: every value of the wrench comes twice, until its link is made afresh."""
    links = run.job.session.links
    links[WRENCH] = "ready"
    await run.tell("leak", WRENCH, 1)
    await run.job.step(WHOLE[PULL])
    links.pop(WRENCH)
    run.over()
    await run.until_told("the link is made afresh, go on")


async def other_name(run: Run) -> None:
    """The adapter is put back under another name, and its old one belongs to another adapter, which hears nothing."""
    await run.tell("plug", "off")
    await run.until_told("No Bluetooth adapter")
    run.over()
    await run.tell("plug", "on", "hci1")
    await run.tell("spare", "hci0")
    await run.job.session.ready(CALIPER, WRENCH)
    run.job.session.links.pop(CALIPER)
    await run.tell("drop", CALIPER)


async def sleep(run: Run) -> None:
    await run.tell("sleep", CALIPER)
    await run.until_told("asleep; press its button")
    run.over()
    await run.tell("press", CALIPER)


async def kill_service(run: Run) -> None:
    await run.count()
    await run.job.remote.kill()
    await run.until_told("Bluetooth service has stopped")
    run.over()
    await run.job.remote.start()


async def adapter_off(run: Run) -> None:
    await run.tell("power", "off")
    await run.until_told("Bluetooth is switched off")
    run.over()
    await run.tell("power", "on")


async def adapter_out(run: Run) -> None:
    await run.tell("plug", "off")
    await run.until_told("No Bluetooth adapter")
    run.over()
    await run.tell("plug", "on")


async def wedge(run: Run) -> None:
    await run.tell("wedge", 1)
    await run.tell("drop", CALIPER)


async def busy(run: Run) -> None:
    await run.tell("fail", "Connect", 3, IN_PROGRESS)
    await run.tell("drop", CALIPER)


async def hang(run: Run) -> None:
    await run.tell("hang", "Connect", 1)
    await run.tell("drop", CALIPER)


async def abort(run: Run) -> None:
    await run.tell("fail", "Connect", 1, "org.bluez.Error.Failed", "le-connection-abort-by-local")
    await run.tell("drop", CALIPER)


async def repeat(run: Run) -> None:
    await run.tell("repeat", 1)


async def delay(run: Run) -> None:
    await run.tell("delay", 300)


async def garbage(run: Run) -> None:
    for payload in ("de", "ffffffff", "00" * 30):
        await run.tell("send", CALIPER, payload)


async def kill_program(run: Run) -> None:
    run.job.session.process.kill()
    await run.job.finish()
    run.over()
    await run.job.begin("resume", "--plain")


async def drop_in_pull(run: Run) -> None:
    """The link goes while the wrench is pulled; the pull goes on, and ends over the next link: neither half counts."""
    remote = run.job.remote
    curve = curve_to(WHOLE[PULL].split()[0])
    sent = (await remote.tell("state"))["sent"][WRENCH]
    pulling = remote.begin("pull", WRENCH, 10, *curve)
    while (await remote.tell("state"))["sent"][WRENCH] < sent + len(curve) // 3:
        pass
    run.over()
    await run.tell("drop", WRENCH)
    await pulling
    run.sent += 1
    await run.job.session.until(lambda: "loosen it" in run.job.session.prompt)
    await run.job.step("loosened")
    await run.job.play(AGAIN)  # loosening disturbs what was read before


@dataclass(frozen=True)
class Fault:
    """One row of the table."""

    name: str
    inject: Inject
    at: int = AT
    tool: str = CALIPER
    """Whose link it costs; empty when none."""
    again: tuple[str, ...] = ()
    """What has to be read again because of it."""
    steps: int = 0
    """How many steps of the job it does by itself."""


FAULTS: tuple[Fault, ...] = (
    Fault("none", none, tool=""),
    Fault("link dropped", drop),
    Fault("link dropped just after a press", drop_after_press, steps=1),
    Fault("tool asleep, woken by its button", sleep),
    Fault("service killed and started again", kill_service),
    Fault("adapter off and on", adapter_off),
    Fault("adapter pulled out and put back", adapter_out),
    Fault("adapter put back under another name", other_name),
    Fault("back with three readings from its memory", backlog),
    Fault("link dropped, scan dead", wedge),
    Fault("link dropped, InProgress three times", busy),
    Fault("link dropped, Connect never answers", hang),
    Fault("link dropped, connection aborted", abort),
    Fault("each notification twice from here on", repeat, tool=""),
    Fault("notifications 300 ms late from here on", delay, tool=""),
    Fault("three frames of garbage", garbage, tool=""),
    Fault("each value of a stream twice over this link", leak, at=PULL, tool=WRENCH, steps=1),
    Fault("program killed, job resumed", kill_program),
    Fault("link dropped in the middle of a pull", drop_in_pull, at=PULL, tool=WRENCH, again=AGAIN),
)

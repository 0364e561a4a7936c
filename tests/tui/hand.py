"""A hand on a bench without a screen: readings of simulated tools, and a job brought to where a test begins."""

from collections.abc import Callable

from drivers.reading import Link, Stamp, ToolReading, ToolState, TorqueSample
from logger import events as ev
from logger.bench.bench import Bench
from logger.job.prompt import Prompt
from logger.shelf.shelf import records
from tui.entry.patience import READ_NS

CALIPER = "DEPOT-C001"
WRENCH = "DEPOT-W001"
HAND_S = READ_NS / 10**9 + 0.5
"""How long a hand waits that reads first."""
TOO_SLACK = ("300.0", "345.0", "300.0", "348.0")
"""Taut down and taut up at the tightest place and opposite, in mm: a slack of 45 and 48 mm."""


class StillClock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.ms = 1000

    def now(self) -> Stamp:
        """Return the moment it was moved to."""
        return Stamp(1_767_600_000_000_000_000 + self.ms * 1_000_000, self.ms * 1_000_000)


class Hand:
    """Does what a person and tools do, straight at the bench."""

    def __init__(self, bench: Bench, clock: StillClock) -> None:
        self.bench = bench
        self.clock = clock

    def kinds(self) -> list[str]:
        """Return the kinds of all events on the trail."""
        return [record.event.kind for record in records(self.bench.path)]

    def last(self) -> ev.Event:
        """Return the newest event on the trail."""
        return list(records(self.bench.path))[-1].event

    async def reads(self, *texts: str, kind: str = "caliper", unit: str = "mm") -> None:
        """Let a caliper send readings."""
        for text in texts:
            reading = ToolReading(CALIPER, "length", text, unit, "sig", "00", self.clock.now(), kind)
            await self.bench.arrive(reading)

    async def torques(self, text: str, unit: str = "N·m") -> None:
        """Let a person type a torque."""
        await self.bench.arrive(ToolReading("typed", "torque", text, unit, "typed", text, self.clock.now()))

    async def links(self, tool: str, kind: str, link: Link, battery: int | None = None, message: str = "") -> None:
        """Let a tool's link change."""
        await self.bench.arrive(ToolState(tool, kind, link, self.clock.now(), battery, serial=tool, message=message))

    async def samples(self, *texts: str) -> None:
        """Let a wrench stream torque."""
        for text in texts:
            await self.bench.arrive(TorqueSample(WRENCH, text, "N·m", self.clock.now()))

    async def until(self, reached: Callable[[Prompt], bool], **values: tuple[str, ...]) -> None:
        """Answer every prompt well until one is reached; `values` are readings by step id, in order."""
        given = {step: list(texts) for step, texts in values.items()}
        for _ in range(100):
            prompt = self.bench.moment.prompt
            if reached(prompt):
                return
            await self._answer(prompt, given)
        raise AssertionError(f"never reached; the job stands at {self.bench.moment.prompt.key}")

    async def _answer(self, prompt: Prompt, given: dict[str, list[str]]) -> None:
        match prompt.kind:
            case "confirm" | "seat" | "untouched":
                await self.bench.confirm()
            case "note":
                await self.bench.note("12480" if prompt.step == "mileage" else "Depot 7")
            case "zero":
                await self.reads("0.00")
            case "loosen" | "slacken":
                await self.bench.loosened()
            case "turn":
                await self.bench.turned_as_advised()
            case "measure":
                texts = given.get(prompt.step) or _GOOD[prompt.step]
                await self.reads(texts.pop(0) if given.get(prompt.step) else texts[_at(prompt)])
            case "torque":
                await self.torques("98" if prompt.step == "axle_nut" else "21")
            case _:
                await self.bench.close()


_GOOD = {
    "wear": ["101.8"],
    "slack": ["300.0", "332.0"],
    "sides": ["36.20"],
    "sag": ["24.0"],
    "takeup": ["60.00"],
}
"""Readings inside every window, by step; the halves of a difference in turn."""


def _at(prompt: Prompt) -> int:
    return 1 if prompt.part == "taut up" else 0


def at(step: str, place: str = "", part: str = "") -> Callable[[Prompt], bool]:
    """Whether a prompt is for this step (and place, and part)."""
    return lambda prompt: prompt.step == step and place in ("", prompt.place) and part in ("", prompt.part)

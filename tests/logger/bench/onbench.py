"""A bench on a real trail, with a clock that is moved by hand and tools that are played."""

from dataclasses import dataclass
from decimal import Decimal

from drivers.reading import Stamp, ToolPeak, ToolReading, TorqueSample
from logger import events as ev
from logger.bench.bench import Bench
from logger.shelf.shelf import records
from logger.trail.trail import Trail

MS = 1_000_000


@dataclass(slots=True)
class FakeClock:
    """Both clocks, moved by hand."""

    ns: int = 0

    def now(self) -> Stamp:
        """The present moment."""
        return Stamp(1_767_655_800 * 10**9 + self.ns, self.ns)

    def tick(self, ms: int = 1000) -> Stamp:
        """Go on, and look."""
        self.ns += ms * MS
        return self.now()


@dataclass(slots=True)
class Set:
    """A bench with what it stands on."""

    bench: Bench
    trail: Trail
    clock: FakeClock

    @property
    def key(self) -> str:
        """The present prompt in short."""
        return self.bench.moment.prompt.key

    async def read(self, *values: str) -> None:
        """Let caliper readings in mm arrive."""
        for value in values:
            at = self.clock.tick()
            await self.bench.arrive(ToolReading("C1", "length", value, "mm", "sig", value, at, "caliper"))

    async def pull(self, peak: str, own: str = "") -> None:
        """Let the samples of one pull arrive, 20 a second, then the tool's own peak."""
        top = Decimal(peak)
        for share in ("0", "0", "0.2", "0.5", "0.8", "1", "0.1", "0", "0", "0", "0", "0", "0"):
            sample = str((top * Decimal(share)).quantize(Decimal("0.01")))
            await self.bench.arrive(TorqueSample("W1", sample, "N·m", self.clock.tick(50)))
        await self.bench.arrive(ToolPeak("W1", own or f"{top:.2f}", "N·m", "00", self.clock.tick(50)))

    def stored(self) -> list[ev.Record]:
        """What is on the disk."""
        return list(records(self.trail.path))


async def to_torque(at: Set) -> None:
    """Found too slack, adjusted once, measured again; the first bolt is next."""
    await at.bench.confirm()
    await at.read("45.0", "32.0", "32.0")
    await at.bench.confirm()
    await at.bench.turned(Decimal(1), Decimal(1))
    await at.bench.confirm()
    await at.read("32.0", "32.0", "32.0")
    assert at.key == "torque:bolts.left"

"""The torque streams of a bench, one for each wrench, each with the settings that its pulls are found with; no I/O."""

from dataclasses import dataclass, field

from drivers.reading import ToolPeak, TorqueSample
from logger.events import ToolDescribed

from .figures import AtRest, stated_settings
from .pulls import Found, PullSettings, PullState, feed, flush


@dataclass(slots=True)
class Wrench:
    """The stream of one wrench."""

    state: PullState = field(default_factory=PullState)
    settings: PullSettings = field(default_factory=PullSettings)
    rest: AtRest = field(default_factory=AtRest)
    described: ToolDescribed | None = None

    @property
    def is_idle(self) -> bool:
        """Whether no pull is in progress or waits for its peak, so that its settings may change."""
        return self.state.rise is None and self.state.waiting is None

    def describe(self, described: ToolDescribed | None) -> None:
        """Take what is stated of the tool; its noise at rest counts where nothing is."""
        if not self.is_idle:
            return
        self.described = described
        settings = stated_settings(described)[0]
        self.settings = (
            settings if self.rest.noise is None or _is_stated(described) else settings.above(self.rest.noise)
        )

    def feed(self, arrival: TorqueSample | ToolPeak) -> tuple[Found, ...]:
        """Take one arrival; BadInput when its unit is no torque."""
        self.state, found = feed(self.state, arrival, self.settings)
        if self.rest.noise is None and self.is_idle and isinstance(arrival, TorqueSample):
            self.rest = self.rest.with_sample(arrival, self.settings)
            if self.rest.noise is not None:
                self.describe(self.described)
        return found

    def flush(self, now_mono_ns: int | None) -> tuple[Found, ...]:
        """Let time pass without samples; None says that the stream has ended."""
        self.state, found = flush(self.state, now_mono_ns, self.settings)
        return found


def _is_stated(described: ToolDescribed | None) -> bool:
    return described is not None and described.pull is not None and described.pull.start is not None

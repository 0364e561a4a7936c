"""Beside a session: say at once, and put on the trail, when the host's clock was put back or forward, or it slept."""

from logger.bench.moment import Moment
from logger.trail.clocks import between
from tui.services import Workplace, notice, tell_fault


async def watch_the_clock(workplace: Workplace) -> None:
    """Tell of every jump of the clock between two events of the job; a service, which runs until it is cancelled."""
    last = workplace.bench.moment.record

    def jumped(moment: Moment) -> str:
        nonlocal last
        found, last = between(last, moment.record), moment.record
        return "" if found is None else found.sentence()

    async def tell(sentence: str) -> None:
        await tell_fault(workplace, "clock", sentence)

    await notice(workplace, jumped, tell)

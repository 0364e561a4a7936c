"""Work that goes on beside the screen (a radio, a simulated mechanic), supervised: a fault is told, never swallowed."""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Sequence
from typing import Protocol

from logger.bench.bench import Bench
from logger.bench.moment import Moment
from logger.errors import EvenhandError

from .safe import safe_text

_log = logging.getLogger(__name__)

BACK_OFF_S = (1.0, 2.0, 4.0, 8.0)
"""Seconds before each new attempt of a service that failed; after the last it stays down, and the screen says so."""


class Workplace(Protocol):
    """What a service is given: the bench, and a way to tell the person that something is wrong."""

    bench: Bench

    def warn(self, text: str) -> None:
        """Show a banner."""
        ...


Service = Callable[[Workplace], Awaitable[object]]


async def supervise(workplace: Workplace, services: Sequence[Service], back_off: Sequence[float] = BACK_OFF_S) -> None:
    """Run all services until they end or are cancelled; one that fails does not end the others."""
    async with asyncio.TaskGroup() as group:
        for service in services:
            group.create_task(_kept_up(workplace, service, back_off), name=_name(service))


async def _kept_up(workplace: Workplace, service: Service, back_off: Sequence[float]) -> None:
    for wait in (*back_off, None):
        try:
            await service(workplace)
        except Exception as fault:
            _log.exception("service %s failed", _name(service))
            await tell_fault(workplace, _name(service), _told(service, fault, wait))
        else:
            return
        if wait is not None:
            await asyncio.sleep(wait)


async def tell_fault(workplace: Workplace, what: str, said: str) -> None:
    """Put on the trail that something failed, by which the person is told; where that cannot be, only tell."""
    if workplace.bench.moment.job.closed:
        workplace.warn(said)
        return
    try:
        await asyncio.shield(workplace.bench.fault(what, said))
    except EvenhandError:
        _log.exception("%s: the fault is not on the trail", what)
        workplace.warn(said)


async def notice(
    workplace: Workplace, sentence: Callable[[Moment], str], tell: Callable[[str], Awaitable[object]]
) -> None:
    """Tell what is found in each moment, empty text being nothing, until cancelled.

    What is left then is only shown: at the very end of a session there is nobody left to store it.
    """
    found: asyncio.Queue[str] = asyncio.Queue()

    def look(moment: Moment) -> None:
        if said := sentence(moment):
            found.put_nowait(said)

    workplace.bench.listeners.append(look)
    try:
        while True:
            await tell(await found.get())
    finally:
        workplace.bench.listeners.remove(look)
        while not found.empty():
            workplace.warn(found.get_nowait())


def _told(service: Service, fault: BaseException, wait: float | None) -> str:
    """One sentence on the fault, one on what happens now."""
    while isinstance(fault, BaseExceptionGroup):
        fault = fault.exceptions[0]
    what = str(fault) if isinstance(fault, EvenhandError) else f"{type(fault).__name__}: {fault}"
    then = "Leave and resume the job to try again." if wait is None else f"Trying again in {wait:g} s."
    return safe_text(f"{_name(service)} stopped: {what} Typed readings still work. {then}", 300)


def _name(service: Service) -> str:
    return str(getattr(service, "__name__", type(service).__name__)).strip("_<>").replace("_", " ")

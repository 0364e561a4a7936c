"""The links of the tools as they stood at each event of a stored job; pure."""

from collections.abc import Mapping

from drivers.reading import Link, Stamp, ToolState
from logger import events as ev


def linked(tools: Mapping[str, ToolState], event: ev.Event) -> Mapping[str, ToolState]:
    """Return the links after one more event; whoever takes a job up again starts without any."""
    match event:
        case ev.JobResumed():
            return {}
        case ev.ToolSeen() if event.link in set(Link):
            state = _state(event)
            return {name: each for name, each in tools.items() if not _renamed(each, state)} | {state.tool: state}
        case _:
            return tools


def _state(event: ev.ToolSeen) -> ToolState:
    return ToolState(
        event.tool,
        event.tool_kind,
        Link(event.link),
        Stamp(0, 0),
        event.battery,
        event.address,
        event.serial,
        event.model,
        event.firmware,
        event.profile,
        event.message,
    )


def _renamed(one: ToolState, other: ToolState) -> bool:
    """Whether both are one tool, which goes by its advertised name until it tells its serial number."""
    return one.tool != other.tool and bool(one.address) and one.address == other.address

"""Entries of a toolbook, and what a tool in reach tells of itself, for tests."""

from drivers.reading import Link, Stamp, ToolState
from logger.toolbook.toolbook import Tool

NOON = "2026-11-25T12:00:00Z"


def tool(name: str = "caliper-1", /, **more: object) -> Tool:
    """Return an entry with what every entry has."""
    stated: dict[str, object] = {"kind": "caliper", "serial": f"SN-{name}", "added": NOON, "added_by": "Robin"}
    return Tool.model_validate({"id": name, **stated, **more})


def state(serial: str, address: str, link: Link = Link.READY, name: str = "Bench caliper") -> ToolState:
    """Return the state of a tool in reach."""
    return ToolState(serial or name, "caliper", link, Stamp(0, 0), address=address, serial=serial)

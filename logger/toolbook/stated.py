"""What is stated of a tool, by the toolbook or by its profile, as an event of the job it takes part in; pure."""

from collections.abc import Mapping
from dataclasses import dataclass

from drivers.profile.profile import ToolProfile
from logger import events as ev

from .toolbook import TORQUE_KINDS, Tool, Toolbook, find


def described(tool: Tool, profile: ToolProfile | None = None) -> ev.ToolDescribed:
    """Return what the toolbook states of a tool; how it samples and pulls is what its profile says."""
    return ev.ToolDescribed(
        tool=tool.id,
        tool_kind=tool.kind,
        profile=tool.profile,
        stated_by="toolbook",
        accuracy=tool.accuracy or (profile.accuracy if profile else None),
        of_reference=tool.of_reference,
        resolution=tool.resolution or (profile.resolution if profile else None),
        calibration_u=tool.calibration_u,
        calibration_k=tool.calibration_k,
        calibrated=tool.calibrated,
        due=tool.due,
        certificate=tool.certificate,
        pull=_pull_figures(profile),
        sample_rate=profile.sample_rate if profile else None,
        own_peak=profile.own_peak if profile else False,
    )


def _by_profile(tool: str, kind: str, profile: ToolProfile) -> ev.ToolDescribed:
    """Return what a profile states of the tools it is for."""
    return ev.ToolDescribed(
        tool=tool,
        tool_kind=kind,
        profile=profile.profile,
        stated_by="profile",
        accuracy=profile.accuracy,
        of_reference=kind in TORQUE_KINDS,
        resolution=profile.resolution,
        pull=_pull_figures(profile),
        sample_rate=profile.sample_rate,
        own_peak=profile.own_peak,
    )


def _pull_figures(profile: ToolProfile | None) -> ev.PullFigures | None:
    """Return when a pull begins, as a profile says it; None where it says nothing."""
    return None if profile is None or profile.pull is None else ev.PullFigures(start=str(profile.pull.start))


@dataclass(frozen=True, slots=True)
class Describe:
    """Says what is stated of a tool: by the toolbook, else by its profile, else nothing."""

    book: Toolbook
    profiles: Mapping[str, ToolProfile]
    """By name."""

    def __call__(self, tool: str, kind: str, profile: str) -> ev.ToolDescribed | None:
        """Return what is stated of the tool with this id or identity."""
        found = self.profiles.get(profile)
        entry = find(self.book, tool)
        if entry is not None:
            return described(entry, found or self.profiles.get(entry.profile))
        return None if found is None else _by_profile(tool, kind, found)

    def all(self) -> tuple[ev.ToolDescribed, ...]:
        """Return what is stated of every tool in use, in the order of the book."""
        return tuple(described(tool, self.profiles.get(tool.profile)) for tool in self.book.active)

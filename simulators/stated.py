"""What the papers of the simulated tools state of them; invented figures, calibrated two months before the job."""

from datetime import datetime, timedelta

from logger import events as ev

CALIBRATED_AGO, INTERVAL = timedelta(days=60), timedelta(days=365)
_CALIPER: dict[str, object] = {"accuracy": "0.03 mm", "resolution": "0.01 mm", "calibration_u": "0.02 mm"}
_WRENCH: dict[str, object] = {"accuracy": "3 %", "of_reference": True, "resolution": "0.01 N·m", "own_peak": True}
_FIGURES = {"caliper": _CALIPER, "torque wrench": _WRENCH}


class Stated:
    """What a bench asks at the first appearance of a simulated tool."""

    def __init__(self, opened_utc: str) -> None:
        """Take the instant at which the job was opened, by whichever clock its bench has."""
        at = datetime.fromisoformat(opened_utc).date() - CALIBRATED_AGO
        self._dates = {"calibrated": at.isoformat(), "due": (at + INTERVAL).isoformat()}

    def __call__(self, tool: str, kind: str, profile: str) -> ev.ToolDescribed | None:
        """Return what is stated of a tool; None for a kind that no simulated tool is."""
        figures = _FIGURES.get(kind)
        if figures is None:
            return None
        said = {"tool": tool, "tool_kind": kind, "profile": profile, "stated_by": "program"}
        return ev.ToolDescribed.model_validate({**said, **figures, **self._dates})

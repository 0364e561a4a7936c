"""When the pulls of one tool begin and end: as stated of it, else from its noise at rest; and as stored; pure."""

from dataclasses import dataclass, replace
from decimal import Decimal

from drivers.reading import TorqueSample
from logger import events as ev
from logger.errors import BadInput

from .trace import Noise, PullSettings, levels, noise_at_rest, replayed, value_of

ENOUGH = 40
"""So many samples at rest tell the noise of a wrench."""


def stated_settings(described: ev.ToolDescribed | None) -> tuple[PullSettings, str]:
    """Return the settings for a tool, and a sentence where what is stated of it cannot be.

    Then they are the program's own.
    """
    if described is None:
        return PullSettings(), ""
    try:
        paced = _paced(PullSettings(), described.sample_rate)
        return (paced if described.pull is None else _with(paced, described.pull)), ""
    except BadInput as error:
        stated = f"What is stated of {described.tool} about its pulls cannot be used"
        return PullSettings(), f"{stated}: {error.message} The program's own figures count."


def _paced(settings: PullSettings, rate_hz: int | None) -> PullSettings:
    """Give a slow stream the time it needs: what is a gap or a click depends on how far apart samples are."""
    if rate_hz is None or rate_hz < 1:
        return settings
    period = 1000 // rate_hz
    return replace(
        settings,
        click_ms=max(settings.click_ms, period * 5 // 2),
        release_ms=max(settings.release_ms, 2 * period),
        gap_ms=max(settings.gap_ms, 3 * period),
        lost_ms=max(settings.lost_ms, 10 * period),
    )


def _with(settings: PullSettings, figures: ev.PullFigures) -> PullSettings:
    start = settings.start if figures.start is None else Decimal(figures.start)
    return replace(
        settings,
        start=start,
        rest=settings.rest if figures.rest is None else Decimal(figures.rest),
        noise=settings.noise if figures.noise is None else Decimal(figures.noise),
        click_ms=settings.click_ms if figures.click_ms is None else figures.click_ms,
        release_ms=settings.release_ms if figures.release_ms is None else figures.release_ms,
        gap_ms=settings.gap_ms if figures.gap_ms is None else figures.gap_ms,
    )


def figures_of(settings: PullSettings) -> ev.PullFigures:
    """Return settings as they are stored with a pull, in N·m and ms: all that decides where its peaks are."""
    level = levels(settings, "N·m")
    return ev.PullFigures(
        start=format(level.start, "f"),
        rest=format(level.rest, "f"),
        noise=format(level.noise, "f"),
        click_ms=settings.click_ms,
        release_ms=settings.release_ms,
        gap_ms=settings.gap_ms,
    )


def settings_of(figures: ev.PullFigures) -> PullSettings:
    """Return the settings a stored pull was found with; BadInput where they cannot be."""
    return _with(PullSettings(has_own_peak=False), figures)


def retraced(pull: ev.PullTaken) -> tuple[str, str | None] | None:
    """Find the largest value of a stored trace anew, and the click before it, as the tool sent them.

    None where no trace is kept; BadInput where figures or unit are such as no pull was ever found with.
    """
    if pull.figures is None or not pull.trace:
        return None
    again = replayed(pull.trace, settings_of(pull.figures), pull.unit)
    clicked = again.first_peak.size != again.top.size
    return again.top.text, again.first_peak.text if clicked else None


# --- noise at rest --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class AtRest:
    """The first samples of a wrench at rest, until there are enough to tell its noise."""

    kept: tuple[TorqueSample, ...] = ()
    noise: Noise | None = None
    """None while not enough are known, and of a wrench that was not at rest."""

    def with_sample(self, sample: TorqueSample, settings: PullSettings) -> "AtRest":
        """Take one more sample below `start`; a wrench that is moved or off zero tells nothing of its noise."""
        value = value_of(sample.text)
        if self.noise is not None or value is None:
            return self
        if self.kept and self.kept[-1].unit != sample.unit:
            return AtRest((sample,))
        kept = (*self.kept, sample)
        if len(kept) < ENOUGH:
            return AtRest(kept)
        noise, band = noise_at_rest(kept), levels(settings, sample.unit).zero_band
        quiet = abs(noise.offset) <= band and noise.sigma <= band
        return AtRest((), noise) if quiet else AtRest()

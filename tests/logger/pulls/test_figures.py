"""The settings of one wrench: as stated, as stored, and from its noise at rest."""

from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest
from pydantic import ValidationError

from drivers.reading import TorqueSample
from logger import events as ev
from logger.pulls.figures import ENOUGH, AtRest, figures_of, settings_of, stated_settings
from logger.pulls.pulls import FoundPull, PullSettings
from logger.pulls.wrenches import Wrench
from tests.logger.walk import described

from .torque import hand, sample, stream

D = Decimal


def _stated(rate: int | None = None, **figures: object) -> ev.ToolDescribed:
    return described().model_copy(update={"pull": ev.PullFigures.model_validate(figures), "sample_rate": rate})


def test_what_is_not_stated_is_the_programs_own() -> None:
    assert stated_settings(None) == (PullSettings(), "")
    assert stated_settings(described()) == (PullSettings(), "")


def test_what_is_stated_of_a_tool_counts() -> None:
    settings, wrong = stated_settings(_stated(start="2.00", rest="0.8", release_ms=400))
    assert wrong == ""
    assert settings == PullSettings(start=D("2.00"), rest=D("0.8"), release_ms=400)


def test_a_slow_stream_has_longer_gaps_and_a_fast_one_keeps_the_usual() -> None:
    slow = stated_settings(_stated(rate=5))[0]
    assert (slow.gap_ms, slow.release_ms, slow.click_ms, slow.lost_ms) == (600, 400, 500, 2000)
    assert stated_settings(_stated(rate=100))[0] == PullSettings()


@pytest.mark.parametrize("figures", [{"start": "0"}, {"start": "2", "rest": "3"}])
def test_figures_that_cannot_be_are_told_and_the_programs_own_count(figures: dict[str, str]) -> None:
    settings, wrong = stated_settings(_stated(None, **figures))
    assert settings == PullSettings()
    assert wrong.startswith("What is stated of W1 about its pulls cannot be used: ")


@pytest.mark.parametrize("start", ["two", "2e9", "", "NaN"])
def test_what_is_no_figure_is_never_on_a_trail(start: str) -> None:
    with pytest.raises(ValidationError, match="start"):
        ev.PullFigures(start=start)


def test_settings_are_stored_and_read_back() -> None:
    settings = PullSettings(start=D("2.00"), noise=D("0.375"), click_ms=250, release_ms=400, gap_ms=600)
    again = settings_of(figures_of(settings))
    assert again == replace(settings, rest=D("1.00"), has_own_peak=False)


# --- noise at rest ---


def _rest(sigma: float, count: int, offset: float = 0) -> list[TorqueSample]:
    dice = Random(3)
    return [sample(10 * n, f"{dice.gauss(offset, sigma):.3f}") for n in range(count)]


def _at_rest(samples: list[TorqueSample]) -> AtRest:
    rest = AtRest()
    for each in samples:
        rest = rest.with_sample(each, PullSettings())
    return rest


def test_the_noise_is_known_from_forty_samples_on() -> None:
    assert _at_rest(_rest(0.5, ENOUGH - 1)).noise is None
    noise = _at_rest(_rest(0.5, ENOUGH)).noise
    assert noise is not None
    assert float(noise.sigma) == pytest.approx(0.5, rel=0.4)


@pytest.mark.parametrize(("sigma", "offset"), [(3, 0), (0.1, 2)])
def test_a_wrench_that_is_moved_or_off_zero_tells_no_noise(sigma: float, offset: float) -> None:
    rest = _at_rest(_rest(sigma, ENOUGH, offset))
    assert (rest.noise, rest.kept) == (None, ())


def test_a_noisy_wrench_begins_its_pulls_above_its_noise_unless_a_figure_is_stated() -> None:
    for known, start in ((None, None), (_stated(start="5"), D(5))):
        wrench = Wrench()
        wrench.describe(known)
        for each in _rest(0.8, ENOUGH):
            assert wrench.feed(each) == ()
        if start is None:
            assert D(6) < wrench.settings.start <= D(10)
        else:
            assert wrench.settings.start == start


def test_settings_never_change_inside_a_pull() -> None:
    wrench, arrivals = Wrench(), stream(hand())
    seen: set[PullSettings] = set()
    for each in arrivals:
        assert isinstance(each, TorqueSample)
        found = wrench.feed(each)
        if wrench.state.rise is not None:
            wrench.describe(_stated(start="50"))
            seen.add(wrench.settings)
        assert not [pull for pull in found if isinstance(pull, FoundPull) and pull.invalid]
    assert len(seen) == 1
    assert wrench.settings.start != 50

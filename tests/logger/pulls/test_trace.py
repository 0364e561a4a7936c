"""What a trace says: the sampling bound at every phase, replay to the digit, thresholds, scipy as an outside check."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest
from scipy.signal import find_peaks  # type: ignore[import-untyped]

from logger.errors import BadInput
from logger.pulls.pulls import FoundPull, Knock, Noise, PullSettings, PullState, feed, noise_at_rest, replayed

from .torque import PLAIN, Arrivals, line, one, paced, run, sample, stream

# --- how far sampling can under-read ----------------------------------------------------------------------------------


def clicked(up_s: float, release_s: float = 0.15) -> Callable[[float], float]:
    """Torque over time, in percent: a straight pull to 100, a click of 15 % in 8 ms, then let go.

    The release of 0.15 s is this test's own; the rest is the pull for which the figures below were worked out.
    """

    def torque(t: float) -> float:
        if t < up_s:
            return max(0.0, 100 * t / up_s)
        if t < up_s + 0.008:
            return 100 - 15 * (t - up_s) / 0.008
        return max(0.0, 85 * (1 - (t - up_s - 0.008) / release_s))

    return torque


def sampled(torque: Callable[[float], float], rate_hz: int, phase: float) -> Arrivals:
    count = int(2.5 * rate_hz) + 4
    times = [(n + phase) / rate_hz - 0.5 for n in range(count)]
    return [sample(1000 * (t + 0.5), f"{torque(t):.4f}") for t in times]


@pytest.mark.parametrize(
    ("rate_hz", "up_s", "worst"),
    [(10, 1.0, 9.5), (50, 1.0, 1.9), (100, 1.0, 0.95), (500, 1.0, 0.19), (10, 0.2, 31)],
)
def test_the_bound_holds_at_every_phase_and_the_worst_case_is_the_known_one(
    rate_hz: int, up_s: float, worst: float
) -> None:
    seen, bounded = 0.0, 0
    settings_ = replace(paced(rate_hz), min_ms=0)
    for phase in range(100):
        pull = one(sampled(clicked(up_s), rate_hz, phase / 100), settings_)
        assert pull.invalid == ""
        missed = 100 - pull.maximum
        seen = max(seen, float(missed))
        if pull.under_read_bound is not None:
            bounded += 1
            assert missed <= pull.under_read_bound + Decimal("0.0002")
            assert float(pull.under_read_bound) == pytest.approx(100 / up_s / rate_hz, rel=0.001)
    assert seen == pytest.approx(worst, rel=0.03)
    assert bounded >= (100 if up_s == 1.0 else 50)


@pytest.mark.parametrize(
    ("texts", "bound"),
    [(("0", "40", "0", "0"), None), (("0", "25", "60", "0", "0"), "35"), (("0", "2.5", "60", "0", "0"), "57.5")],
)
def test_two_samples_of_a_rise_tell_how_far_it_may_have_gone_and_one_does_not(
    texts: tuple[str, ...], bound: str | None
) -> None:
    slow = replace(paced(10), min_ms=0)
    found = one(stream(texts, period_ms=100), slow).under_read_bound
    assert found == (None if bound is None else Decimal(bound))


# --- replay -----------------------------------------------------------------------------------------------------------


def noisy(seed: int, *, sign: int = 1, period_ms: int = 1, sigma: float = 0.05) -> list[str | None]:
    dice = Random(seed)
    top = dice.uniform(20, 120)
    clean = line((0, 0), (100, 0), (400, top), (408, 0.85 * top), (600, 1.1 * top), (700, 0), (1200, 0))
    texts = [f"{sign * float(text or 0) + dice.gauss(0, sigma):.{dice.randint(1, 4)}f}" for text in clean]
    return list(texts)


@pytest.mark.parametrize("seed", range(20))
def test_a_stored_trace_replays_to_the_same_peaks_digit_for_digit(seed: int) -> None:
    pull = one(stream(noisy(seed, sign=1 if seed % 2 else -1), period_ms=1.7))
    again = replayed(pull.trace, PLAIN, pull.unit)
    assert (again.top.text, again.first_peak.text) == (pull.maximum_text, pull.first_peak_text)
    assert again.under_read == pull.under_read_bound
    assert again.top.size.as_tuple().digits == pull.maximum.as_tuple().digits


def test_long_numbers_pass_unrounded() -> None:
    long = "-98.1234567890123456789012345678901234"
    pull = one(stream([*line((0, 0), (50, 0)), *["-50"] * 9, long, *["-50"] * 9, *["0"] * 50]))
    assert str(pull.maximum) == pull.maximum_text == long


@pytest.mark.parametrize(("texts", "top"), [(("0.01", "0.9", "-0.2"), "0.9"), (("-0.01", "-0.9", "0.2"), "-0.9")])
def test_a_trace_replays_in_the_direction_of_its_largest_value(texts: tuple[str, ...], top: str) -> None:
    trace = tuple((10 * n, text) for n, text in enumerate(texts))
    again = replayed(trace, PLAIN, "N·m")
    assert again.top == (10, Decimal("0.9"), top)
    assert again.steepest == Decimal("0.89")


def test_a_trace_counts_its_samples_above_rest_and_those_up_to_the_largest() -> None:
    assert replayed(((0, "2.5"),), PLAIN, "N·m")[-2:] == (1, 1)
    assert replayed(((0, "2.49"),), PLAIN, "N·m")[-2:] == (0, 0)
    assert replayed(((0, "0.1"), (10, "30"), (20, "60"), (30, "9"), (40, "0.1")), PLAIN, "N·m")[-2:] == (2, 3)


def test_an_empty_trace_cannot_be_replayed() -> None:
    with pytest.raises(BadInput) as refused:
        replayed((), PLAIN, "N·m")
    said = "The trace of this pull is empty. A typed torque and a lone peak have none to replay."
    assert str(refused.value) == said


def test_a_trace_of_a_minute_at_1_khz_is_kept_whole() -> None:
    texts = ["0.0", *[f"{20 + n % 7}.5" for n in range(55_000)], *["0.0"] * 300]
    pull = one(stream(texts, period_ms=1))
    assert pull.sample_count == len(pull.trace) == 55_002


# --- thresholds -------------------------------------------------------------------------------------------------------


def test_thresholds_are_converted_to_the_unit_of_the_samples() -> None:
    """5 N·m is 3.688 lbf·ft (NIST SP 811: 1 lbf·ft = 1.355 818 N·m)."""
    below = [replace(each, unit="lbf·ft") for each in stream(["0", *["3.68"] * 30, *["0"] * 30])]
    above = [replace(each, unit="lbf·ft") for each in stream(["0", *["3.69"] * 30, *["0"] * 30])]
    assert run(below) == ()
    assert one(above).unit == "lbf·ft"
    with pytest.raises(BadInput):
        feed(PullState(), sample(0, "3", "mm"), PLAIN)


def test_thresholds_follow_the_noise_at_rest() -> None:
    dice = Random(7)
    rest = [sample(n, f"{0.4 + dice.gauss(0, 2):.3f}") for n in range(2000)]
    rest[500] = sample(500, "300.0")
    noise = noise_at_rest(rest)
    assert float(noise.sigma) == pytest.approx(2, rel=0.1)
    assert float(noise.offset) == pytest.approx(0.4, abs=0.2)
    raised = PLAIN.above(noise)
    assert raised.start == 10 * noise.sigma
    assert raised.released_below == 5 * noise.sigma
    assert PLAIN.above(noise._replace(sigma=Decimal("0.01"))) == replace(PLAIN, rest=Decimal("2.5"))
    assert [type(each) for each in run([sample(0, "0"), *rest], raised)] == [Knock]


def test_the_noise_of_a_handful_of_samples_is_refused() -> None:
    with pytest.raises(BadInput, match="19 samples"):
        noise_at_rest([sample(n, "0.1") for n in range(19)] + [sample(20, None)])


@pytest.mark.parametrize(("start", "rest"), [("0", None), ("5", "6"), ("5", "0"), ("-5", None)])
def test_absurd_thresholds_are_refused(start: str, rest: str | None) -> None:
    with pytest.raises(BadInput, match="cannot begin") as refused:
        PullSettings(start=Decimal(start), rest=Decimal(rest) if rest else None)
    assert refused.value.remedy == "Give a start above zero, and a rest between zero and the start."


def test_a_pull_may_be_released_where_it_begins_and_at_next_to_nothing() -> None:
    assert PullSettings(start=Decimal(5), rest=Decimal(5)).released_below == 5
    assert PullSettings(start=Decimal(1), rest=Decimal("0.01")).released_below == Decimal("0.01")


def test_the_noise_at_rest_also_keeps_a_wiggle_from_being_a_click() -> None:
    raised = PLAIN.above(Noise(Decimal(0), Decimal("0.4"), "N·m"))
    assert (raised.noise, raised.start) == (Decimal("0.4"), Decimal(5))
    assert PLAIN.above(Noise(Decimal(0), Decimal("0.01"), "N·m")).noise == PLAIN.noise


def test_twenty_samples_of_one_unit_tell_the_noise_and_less_is_refused() -> None:
    rest = [sample(n, "0.1") for n in range(20)]
    assert noise_at_rest(rest) == Noise(Decimal("0.1"), Decimal(0), "N·m")
    with pytest.raises(BadInput, match="20 samples in 2 units") as refused:
        noise_at_rest([*rest[:-1], sample(20, "0.1", "lbf·ft")])
    assert refused.value.remedy == "Leave the wrench untouched until it has sent at least 20 samples in one unit."


# --- outside check ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(5))
def test_scipy_finds_the_same_maxima_on_clean_traces(seed: int) -> None:
    """Outside check: scipy.signal.find_peaks with a prominence, on one direction, ends at rest and nothing missing."""
    dice = Random(seed)
    texts: list[str | None] = []
    for _ in range(40):
        rise, top = dice.randrange(200, 1500, 10), dice.uniform(10, 150)
        texts += line((0, 0), (dice.randrange(400, 900, 10), 0))
        texts += line((0, 0), (rise, top), (rise + dice.randrange(100, 400, 10), 0), (rise + 1000, 0))
    pulls = [each for each in run(stream(texts)) if isinstance(each, FoundPull)]
    values = [float(text or 0) for text in texts]
    peaks, _ = find_peaks(values, height=5, prominence=5)
    assert [float(pull.maximum) for pull in pulls] == [values[each] for each in peaks]
    assert len(pulls) == 40

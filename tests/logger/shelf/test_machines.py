"""How a chain wears over the jobs of its machine, when its limit is met, and what becomes due."""

import math
import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress  # type: ignore[import-untyped]

from logger.shelf.machines import (
    crossing,
    fit_line,
    forecast_of,
    goes_back,
    machine_of,
    points_of,
    too_little,
    wear_lines,
)
from logger.shelf.sums import DueSum, JobSum, LetPass, WearSum


def _job(number: int, mileage: str | None, share: str | None, **more: object) -> JobSum:
    given: dict[str, object] = {
        "job": f"j{number}",
        "first": number,
        "events": 40,
        "sheet": "courier-chain",
        "sheet_sha256": "0" * 64,
        "revision": "1",
        "machine": "Depot 7",
        "by": "Robin",
        "people": ("Robin",),
        "state": "closed",
        "opened": f"2026-{number:02}-01T08:00:00.000000Z",
        "last": f"2026-{number:02}-01T09:00:00.000000Z",
        "closed": f"2026-{number:02}-01T09:00:00.000000Z",
        "simulated": False,
        "verdicts": {},
        "overrides": (),
        "tools": (),
        "mileage": mileage,
        "mileage_unit": "km" if mileage else "",
        "wear": None if share is None else WearSum(share=share, u="0.0005", limit="0.01"),
        "due": (),
        "call_back": (),
        "called_back_at": 0,
    }
    return JobSum.model_validate(given | more)


# --- the line -------------------------------------------------------------------------------------------------------

XS = st.lists(st.integers(0, 2000).map(lambda x: 100 * x), min_size=3, max_size=12, unique=True)


@given(XS, st.integers(0, 10**6))
def test_the_line_is_that_of_another_library(xs: list[int], seed: int) -> None:
    """Outside check: scipy.stats.linregress (SciPy, Virtanen et al., Nature Methods 17, 2020)."""
    rng = random.Random(seed)
    ys = [round(0.000_001 * x + rng.gauss(0, 0.05), 4) for x in xs]
    line = fit_line([(Fraction(x), Fraction(str(y))) for x, y in zip(xs, ys, strict=True)])
    assert line is not None
    found = linregress(xs, ys)
    assert math.isclose(line.slope, found.slope, rel_tol=1e-6, abs_tol=1e-12)
    assert math.isclose(line.intercept, found.intercept, rel_tol=1e-6, abs_tol=1e-9)
    assert math.isclose(line.slope_u, found.stderr, rel_tol=1e-6, abs_tol=1e-11)


def test_points_on_a_line_give_it_exactly() -> None:
    line = fit_line([(Fraction(x), Fraction(x, 3) + 1) for x in (1, 2, 7)])
    assert line is not None
    assert (line.slope, line.intercept, line.scatter) == (Fraction(1, 3), Fraction(1), 0.0)


@pytest.mark.parametrize("points", [[], [(1, 1)], [(4, 1), (4, 2)]])
def test_one_mileage_makes_no_line(points: list[tuple[int, int]]) -> None:
    assert fit_line([(Fraction(x), Fraction(y)) for x, y in points]) is None


def test_readings_on_one_line_by_luck_are_worth_no_more_than_they_are() -> None:
    line = fit_line([(Fraction(x), Fraction(x, 10**6)) for x in (0, 5000, 10_000)], worth=0.0005)
    assert line is not None
    assert (line.scatter, line.k) == (0.0005, 2.0)
    met = crossing(line, Fraction(1, 100))
    assert met is not None
    assert met[1] < met[0] < met[2]


def test_the_interval_is_where_the_band_of_the_line_meets_the_level() -> None:
    """Fieller: at its ends the line's k-fold uncertainty just reaches the level."""
    rng = random.Random(3)
    line = fit_line(
        [(Fraction(x), Fraction(str(round(x * 1e-6 + rng.gauss(0, 3e-4), 6)))) for x in range(0, 9000, 900)]
    )
    assert line is not None
    met = crossing(line, Fraction(1, 100))
    assert met is not None
    for end in met[1:]:
        away = float(line.slope) * end + float(line.intercept) - 0.01
        u = line.scatter * math.sqrt(1 / line.count + (end - float(line.mean_x)) ** 2 / float(line.sxx))
        assert math.isclose(abs(away), line.k * u, rel_tol=1e-6)
    assert math.isclose(float(line.slope) * met[0] + float(line.intercept), 0.01, rel_tol=1e-9)


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    """A thousand simulated chains: about 95 % of the intervals hold the mileage at which the limit is truly met."""
    rng, inside, told = random.Random(11), 0, 0
    for _ in range(1000):
        points = [(Fraction(x), Fraction(str(round(x * 1e-6 + rng.gauss(0, 4e-4), 7)))) for x in range(0, 8000, 1000)]
        line = fit_line(points)
        met = None if line is None else crossing(line, Fraction(1, 100))
        if met is not None:
            told += 1
            inside += met[1] <= 10_000 <= met[2]
    assert told > 950
    assert 0.92 < inside / told < 0.98


def test_what_does_not_surely_rise_meets_nothing() -> None:
    falling = fit_line([(Fraction(x), Fraction(y, 1000)) for x, y in ((0, 5), (1000, 4), (2000, 3))])
    shaky = fit_line([(Fraction(x), Fraction(y, 1000)) for x, y in ((0, 1), (1000, 5), (2000, 2))])
    assert falling is not None
    assert shaky is not None
    assert crossing(falling, Fraction(1, 100)) is crossing(shaky, Fraction(1, 100)) is None


# --- the machine ----------------------------------------------------------------------------------------------------


def test_a_new_chain_begins_anew() -> None:
    jobs = [_job(1, "9000", "0.007"), _job(2, "12000", "0.0095"), _job(3, "14000", "0.0005"), _job(4, "16000", "0.002")]
    points, unit = points_of(jobs)
    assert ([point.job for point in points], unit) == (["j3", "j4"], "km")


def test_a_little_less_wear_is_still_the_same_chain() -> None:
    jobs = [_job(1, "9000", "0.0040"), _job(2, "9500", "0.0035"), _job(3, "12000", "0.0052")]
    assert [point.job for point in points_of(jobs)[0]] == ["j1", "j2", "j3"]


def test_what_is_no_mileage_or_no_wear_is_left_out() -> None:
    jobs = [_job(1, "9000", "0.004"), _job(2, "many", "0.005"), _job(3, None, "0.005"), _job(4, "9900", None)]
    assert [point.job for point in points_of(jobs)[0]] == ["j1"]
    assert forecast_of(jobs[1:2]) is None


def test_the_story_says_when_the_chain_is_worn_out() -> None:
    jobs = [_job(n, str(2000 * n), f"{0.0015 * n:.4f}") for n in range(1, 6)]
    found = forecast_of(jobs)
    assert found is not None
    assert found.at == "13333"
    said = wear_lines(found)
    assert said[0] == "0.75 % longer than new at 10000 km (job j5), worn out at 1.00 %."
    assert said[1].startswith("0.075 % per 1000 km, standard uncertainty 0.008 %")
    assert said[2].startswith("At that rate it is worn out at 13333 km")


def test_one_job_shows_no_rate() -> None:
    found = forecast_of([_job(1, "2000", "0.002")])
    assert found is not None
    assert wear_lines(found)[1] == "One mileage alone shows no rate."


def test_a_mileage_that_goes_back_is_named_with_the_job_before() -> None:
    jobs = [_job(1, "10000", "0.002"), _job(2, "13000", "0.004"), _job(3, None, None), _job(4, "12000", "0.005")]
    (said,) = goes_back(jobs)
    assert said == "12000 km of job j4 is less than the 13000 km of job j2."
    assert goes_back([*jobs, _job(5, "12500", None), _job(6, "5", None, mileage_unit="h")]) == (said,)
    found = forecast_of(jobs)
    assert found is not None
    assert wear_lines(found, (said,))[1] == "No rate: what was read before a mileage that goes back does not count."


@pytest.mark.parametrize(
    ("mileage", "unit", "said"),
    [
        ("12000", "km", "12000 km is less than the 13000 km of job j2: check it"),
        ("13000", "km", ""),
        ("13001.5", "km", ""),
        ("12000", "h", ""),
        ("many", "km", ""),
    ],
)
def test_a_mileage_is_held_against_the_job_before_it(mileage: str, unit: str, said: str) -> None:
    jobs = [_job(1, "15000", None), _job(2, "13000", None), _job(3, None, None), _job(4, "99999", None)]
    assert too_little(jobs, "j4", mileage, unit) == said
    assert too_little(jobs[2:], "j4", mileage, unit) == ""


def _due(*jobs: JobSum) -> list[tuple[str, bool, str | None, str | None]]:
    return [(each.what, each.now, each.at, each.day) for each in machine_of(jobs).due]


RECHECK = (DueSum(what="Check again", after="300 km"),)


def test_an_interval_becomes_a_mileage_and_by_use_a_day() -> None:
    first = _job(1, "1000", None, due=RECHECK)
    assert _due(first) == [("Check again", False, "1300", None)]
    second = _job(2, "2550", None, due=RECHECK)  # 50 km a day over 31 days
    assert _due(first, second) == [("Check again", False, "2850", "2026-02-07")]


@pytest.mark.parametrize(
    ("after", "at", "day"),
    [
        ("6 months", None, "2026-07-03"),
        ("2 weeks", None, "2026-01-15"),
        ("10 day", None, "2026-01-11"),
        ("300 mi", None, None),
        ("the next rain", None, None),
        ("1000 km", "2000", None),
    ],
)
def test_what_an_interval_says(after: str, at: str | None, day: str | None) -> None:
    assert _due(_job(1, "1000", None, due=(DueSum(what="Look", after=after),))) == [("Look", False, at, day)]


def test_what_cannot_wait_is_due_now() -> None:
    let = LetPass(check="pin", name="Sam", note="none there")
    closed = _job(1, "1000", None, overrides=(let,), verdicts={"pin": "overridden"})
    called = _job(2, None, None, call_back=("TW-1",), called_back_at=50, sheet="other")
    still = _job(3, None, None, state="open", closed=None)
    assert [what for what, now, *_ in _due(closed, called, still) if now] == [
        "Called back after the recall of TW-1, settled once a new job of other is closed",
        "Job j3 is open",
        "pin: let pass by Sam: none there",
    ]
    named = closed.model_copy(update={"overrides": (let.model_copy(update={"title": "Split pin"}),)})
    assert _due(named)[0][0] == "Split pin: let pass by Sam: none there"


def test_a_later_job_of_the_same_sheet_settles_the_one_before() -> None:
    let = LetPass(check="pin", name="Sam", note="none there")
    before = _job(1, None, None, overrides=(let,), verdicts={"pin": "overridden"})
    assert _due(before, _job(2, None, None)) == []
    assert _due(before, _job(2, None, None, sheet="other")) != []


def test_a_call_back_is_settled_by_a_closed_job_begun_after_the_recall_and_by_no_other() -> None:
    called = _job(1, None, None, call_back=("TW-1",), called_back_at=5)
    said = "Called back after the recall of TW-1, settled once a new job of courier-chain is closed"
    assert _due(called, _job(6, None, None)) == []
    assert _due(called, _job(4, None, None)) == [(said, True, None, None)]  # the recall came after that job
    assert _due(called, _job(6, None, None, sheet="other")) == [(said, True, None, None)]
    assert said in [what for what, *_ in _due(called, _job(6, None, None, state="open", closed=None))]


def test_a_worn_chain_is_due_now() -> None:
    assert _due(_job(1, "9000", "0.0101")) == [("The chain is worn out", True, None, None)]
    assert _due(_job(1, "9000", "0.0100")) == []

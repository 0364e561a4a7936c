from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from logger.job.figures import NOTHING, figures_of, wrong_figures
from logger.metrology.uncertainty import Amount
from tests.logger.walk import described


def test_amounts_are_taken_into_the_readings_unit_exactly() -> None:
    tool = described(
        "C1", "caliper", accuracy="0.02 mm", resolution="0.0005 in", calibration_u="3 %", calibration_k="1.65"
    )
    figures = figures_of(tool, "in")
    assert figures.accuracy == Amount(Fraction(2, 100) / Fraction("25.4"))
    assert (figures.resolution, figures.calibration) == (Fraction(5, 10_000), Amount(Fraction(3, 100), share=True))
    assert (figures.calibration_k, figures.of_reference) == (Fraction("1.65"), False)


def test_nothing_stated_is_nothing_known() -> None:
    assert figures_of(None, "mm") == NOTHING


@given(st.text(max_size=20), st.text(max_size=20), st.text(max_size=6))
def test_any_text_is_a_figure_or_told_as_none(accuracy: str, resolution: str, k: str) -> None:
    """A figure that does not enter is always one that is told."""
    tool = described("C1", "caliper", accuracy=accuracy, resolution=resolution, calibration_u="0.1 mm", calibration_k=k)
    figures, told = figures_of(tool, "mm"), " ".join(wrong_figures(tool, "mm"))
    assert (figures.accuracy is None) == ("its accuracy" in told)
    assert (figures.resolution is None) == ("its resolution" in told)
    assert (figures.calibration is None) == ("its coverage factor" in told)

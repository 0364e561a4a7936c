"""A loop that was blocked longer than a tenth of a second is logged; a short delay is not."""

import pytest

from tui.host.lagwatch import note_lag


@pytest.mark.parametrize(("late_s", "told"), [(0.05, []), (0.1, []), (0.25, ["the loop was blocked for 250 ms"])])
def test_a_blocked_loop_is_logged(late_s: float, told: list[str]) -> None:
    said: list[str] = []
    note_lag(late_s, lambda text, ms: said.append(text % ms))
    assert said == told

"""The list of checks in words: what was let pass is told apart from what passes, in the head and out of sight."""

import pytest

from logger.events import Verdict
from tui.glance.glance import Row
from tui.widgets.checks import Checks


@pytest.mark.parametrize(
    ("first", "head", "hidden"),
    [
        ("done", "CHECKS  5 of 6 pass", "↑ 4 more, all pass"),
        ("overridden", "CHECKS  4 of 6 pass, 1 overridden", "↑ 4 more, 1 overridden"),
        ("waiting", "CHECKS  4 of 6 pass", "↑ 4 more, 1 open"),
    ],
)
def test_what_was_let_pass_does_not_count_as_passing(first: Verdict, head: str, hidden: str) -> None:
    verdicts: tuple[Verdict, ...] = (first, "done", "done", "done", "done", "waiting")
    rows = tuple(Row(str(at), verdict, "Brake", "", "", current=at == 5) for at, verdict in enumerate(verdicts))
    checks = Checks()
    checks._rows = rows
    painted = [row.plain.strip() for row in checks.rows(50, 4)]
    assert painted[0] == head
    assert painted[1] == hidden

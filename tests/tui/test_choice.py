"""What is asked before a job begins, in which order, and what is offered."""

from dataclasses import replace

import pytest

from tests.tui.depots import DEPOT, EMPTY, JAWS, LATE, OPEN, SHEETS, SPARE, TOOLED
from tui.choice import NEW, Choice, Depot, Page, back, chosen, next_page

_SHEET = Choice(NEW, "courier-chain")


def _asked(choice: Choice, depot: Depot) -> list[str]:
    asked: list[str] = []
    while (page := next_page(choice, depot)) is not None:
        asked.append(page.asks)
        choice = chosen(choice, page, "courier-chain" if page.asks == "sheet" else "" if page.asks == "job" else "x")
    return asked


def test_everything_is_asked_in_order() -> None:
    assert _asked(Choice(), DEPOT) == ["job", "sheet", "machine", "by", "kit", "cautions"]


def test_without_an_open_job_none_is_offered() -> None:
    assert _asked(Choice(), EMPTY) == ["sheet", "machine", "by", "kit", "cautions"]


def test_what_is_given_is_not_asked() -> None:
    assert _asked(Choice(NEW, "courier-chain", None, "Robin"), DEPOT) == ["machine", "kit", "cautions"]


def test_an_open_job_that_is_taken_up_asks_who_it_is_and_nothing_more() -> None:
    page = next_page(Choice(), DEPOT)
    assert page is not None
    assert [offer.value for offer in page.offers] == [NEW, "j9"]
    assert page.offers[1].more == ("j9, open, 2026-03-02, Chain and rear axle, by Robin",)
    taken = chosen(Choice(), page, "j9")
    who = next_page(taken, DEPOT)
    assert who is not None
    assert (who.asks, who.offers[0].value, who.offers[0].more) == ("by", "Robin", ("Began this job.",))
    assert back(taken, Choice(), DEPOT) == Choice()
    assert next_page(chosen(taken, who, "Sam"), DEPOT) is None


def test_a_simulated_job_is_not_offered() -> None:
    depot = replace(EMPTY, jobs=(replace(OPEN, simulated=True),))
    page = next_page(Choice(), depot)
    assert page is not None
    assert page.asks == "sheet"
    page = next_page(_SHEET, depot)
    assert page is not None
    assert page.offers == ()


def test_a_machine_comes_with_its_earlier_jobs_those_of_the_sheet_first() -> None:
    page = next_page(_SHEET, DEPOT)
    assert page is not None
    assert [offer.value for offer in page.offers] == ["Depot 7", "Depot 4", "Parcel conveyor 3"]
    assert page.offers[1].more == ("1 job before:", "- j1, closed, 2026-02-01, Chain and rear axle, by Kim")
    assert page.field


def test_a_name_is_offered_once() -> None:
    page = next_page(replace(_SHEET, machine="Depot 7"), DEPOT)
    assert page is not None
    assert [offer.value for offer in page.offers] == ["Robin", "Kim"]


def test_the_kit_page_tells_first_what_the_tools_cannot_decide() -> None:
    page = next_page(replace(_SHEET, machine="m", by="b"), EMPTY)
    assert page is not None
    assert page.lines[0] == "Caution: Axle nut with lever: it cannot decide."
    assert "- caliper with depth rod, or depth gauge" in page.lines
    assert page.lines[-1].startswith("No tool is in the toolbook")


def _page(choice: Choice, depot: Depot = TOOLED) -> Page:
    page = next_page(choice, depot)
    assert page is not None
    return page


_NAMED = replace(_SHEET, machine="m", by="b")


def test_a_tool_is_asked_for_only_where_more_than_one_would_do() -> None:
    assert _asked(_NAMED, TOOLED) == ["tool", "tool", "kit", "cautions"]
    assert _asked(replace(_NAMED, tools={"caliper": "jaws"}), TOOLED) == ["tool", "kit", "cautions"]
    page = _page(_NAMED)
    assert (page.title, [offer.value for offer in page.offers]) == ("Which caliper?", ["jaws", "spare", "late"])
    assert _page(chosen(_NAMED, page, "jaws")).title == "Which wrench: Axle nut?"


def test_what_speaks_against_a_tool_stands_beside_its_name() -> None:
    jaws, spare, late = _page(_NAMED).offers
    assert (jaws.title, jaws.more) == ("jaws", (JAWS.line, "Used for this last time."))
    assert spare.title == "spare  ! calibration due in 9 days"
    assert late.title == "late  ! calibration overdue"
    assert late.more[0] == f"Caution: {LATE.said}"


def test_the_kit_page_tells_which_tools_were_picked() -> None:
    lines = _page(replace(_NAMED, tools={"caliper": "spare", "axle_nut": "bar"})).lines
    assert lines[-4:] == (
        "Tools picked for this job:",
        f"- {SPARE.line}",
        "Others in the toolbook:",
        f"- {JAWS.line}",
    )


def test_a_tool_is_taken_back_as_any_other_answer_and_one_that_was_given_stays() -> None:
    picked = replace(_NAMED, tools={"caliper": "jaws", "axle_nut": "bar"}, kit="read")
    once = back(picked, Choice(NEW), TOOLED)
    twice = back(once, Choice(NEW), TOOLED)
    assert (once.kit, once.tools) == (None, picked.tools)
    assert twice.tools == {"caliper": "jaws"}
    given = Choice(NEW, tools={"axle_nut": "bar"})
    assert back(once, given, TOOLED).tools == {"axle_nut": "bar"}


def test_the_cautions_are_the_sheets() -> None:
    page = next_page(replace(_SHEET, machine="m", by="b", kit="read"), EMPTY)
    assert page is not None
    assert page.lines == tuple(f"Caution: {each}" for each in SHEETS["courier-chain"].cautions)


@pytest.mark.parametrize(
    ("choice", "given", "left"),
    [
        (Choice("", "courier-chain", "m"), Choice(), Choice("", "courier-chain")),
        (Choice("", "courier-chain"), Choice(), Choice("")),
        (Choice("", "courier-chain", "m"), Choice(NEW, "courier-chain", "m"), Choice("", "courier-chain", "m")),
    ],
)
def test_back_takes_the_last_answer_back_and_nothing_that_was_given(
    choice: Choice, given: Choice, left: Choice
) -> None:
    assert back(choice, given, DEPOT) == left

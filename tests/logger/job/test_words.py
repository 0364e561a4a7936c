from logger.job import words
from logger.job.line import role_of
from logger.job.prompt import Prompt
from logger.sheets.store import open_sheet
from tests.logger.walk import Walk, answer, shipped


def test_every_prompt_of_a_whole_job_has_a_headline_that_can_be_read_and_how_to_do_it() -> None:
    walk, seen = Walk(shipped()), set[str]()
    while not walk.key.startswith("measure:slack"):
        seen |= _said(walk)
        answer(walk)
    walk.read("100.0 mm", "145.0 mm", "100.0 mm", "147.0 mm")
    while not walk.job.closed:
        seen |= _said(walk)
        answer(walk)
    seen |= _said(walk)
    assert seen >= {"measure", "confirm", "note", "loosen", "turn", "seat", "torque", "close", "closed"}


def _said(walk: Walk) -> set[str]:
    headline, detail = words.headline(walk.job, walk.prompt), words.detail(walk.job, walk.prompt)
    assert headline
    assert len(headline) <= 78
    assert detail
    assert all(line.strip() for line in detail)
    return {walk.prompt.kind}


def test_a_measure_says_all_it_needs() -> None:
    walk = Walk(shipped())
    while not walk.key.startswith("measure:slack"):
        answer(walk)
    assert words.headline(walk.job, walk.prompt) == "Chain slack, middle of lower run, tightest: taut down"
    detail = words.detail(walk.job, walk.prompt)
    assert [role_of(line) for line in detail] == ["caution", "", "datum", "condition", "window", "tool"]
    assert detail[0] == "Caution: Fingers clear of the sprocket."
    assert "Window 25 mm to 40 mm, aim 32 mm" in detail
    assert any(line.startswith("Holds for: on the rear stand") for line in detail)
    assert detail[-1] == "With: caliper or depth gauge or rule or tape, or typed with its unit"


def test_a_measure_that_stays_says_that_nothing_corrects_it() -> None:
    walk = Walk(shipped())
    while walk.key != "measure:wear":
        answer(walk)
    walk.read("103.0 mm")
    assert "No adjustment corrects this" in words.detail(walk.job, walk.prompt)[-1]


def test_a_share_is_told_with_the_length_it_makes_and_sides_with_where_they_are_seen_from() -> None:
    job = Walk(open_sheet("parcel-conveyor").sheet).job
    assert "Window 1.5% of 1200 mm = 18 mm to 3% of 1200 mm = 36 mm, aim 2% of 1200 mm = 24 mm" in words.detail(
        job, Prompt("measure", "sag", "tightest")
    )
    assert words.detail(job, Prompt("turn", "adjust"))[-2:] == (
        "Tighter is clockwise, seen from the screw's head; the chain is on the left.",
        "Sides as seen from the tail end, along the way the parcels run.",
    )

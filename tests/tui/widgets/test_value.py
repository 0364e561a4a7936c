"""The value in sight: what grows where there is room, and what stays where there is little."""

from dataclasses import replace

import pytest

from logger.job.line import caution
from tui.glance.shown import Pair, Shown, Value
from tui.widgets.value import Sight, _pages

ASIDE = Value("Does not count", "36.50", "mm", reason="a look only", flag="✕ DOES NOT COUNT")
STANDS = ("2 of 15 checks pass", caution("Engine off."), "Kit: caliper")


def _drawn(shown: Shown, otherwise: tuple[str, ...], width: int, height: int) -> list[str]:
    sight = Sight()
    sight._shown, sight._else = shown, otherwise
    return [row.plain.rstrip() for row in sight.rows(width, height)]


def test_what_does_not_count_says_so_in_big_letters_too() -> None:
    rows = _drawn(ASIDE, (), 146, 40)
    at = next(at for at, row in enumerate(rows) if "✕ DOES NOT COUNT" in row)
    assert sum("█" in row for row in rows[at + 1 :]) >= 5
    assert len(rows) <= 40


def test_in_few_rows_its_digits_have_them() -> None:
    rows = _drawn(ASIDE, (), 76, 12)
    assert rows[-1].strip().startswith("a look only") or "a look only" in rows[-1]
    assert sum("█" in row for row in rows) >= 5


def test_how_the_job_stands_is_big_where_there_is_room() -> None:
    rows = _drawn(None, STANDS, 146, 40)
    assert rows[0] == "! Engine off."
    assert sum("█" in row for row in rows) >= 20
    assert _drawn(None, STANDS, 76, 12) == ["2 of 15 checks pass", "! Engine off.", "Kit: caliper"]


@pytest.mark.parametrize("otherwise", [(), (caution("Hot."), "Kit: rag")])
def test_a_caution_is_not_how_a_job_stands(otherwise: tuple[str, ...]) -> None:
    assert "█" not in "".join(_drawn(None, otherwise, 146, 40))


@pytest.mark.parametrize(
    ("width", "strip"), [(60, "■ INSIDE · RE-HIT: it replaces nothing"), (38, "■ INSIDE · RE-HIT"), (16, "■ INSIDE")]
)
def test_a_flag_is_cut_at_its_first_clause(width: int, strip: str) -> None:
    value = Value("Axle nut", "98", "N·m", "inside", flag="RE-HIT: it replaces nothing")
    assert any(row.strip().startswith(strip) for row in _drawn(value, (), width, 6))


def test_a_reason_that_is_cut_says_so() -> None:
    value = Value("Axle nut", "98", "N·m", "inside", reason="pulled again since, to 99 N·m: the first pull stands")
    assert any(row.endswith(" … PgDn") for row in _drawn(value, (), 30, 6))
    assert not any("…" in row for row in _drawn(value, (), 30, 12))


@pytest.mark.parametrize(("width", "ruled"), [(146, True), (44, True), (38, False)])
def test_two_sides_do_not_run_together(width: int, ruled: bool) -> None:
    left, right = (Value(f"{side}: Axle", text, "mm") for side, text in (("left", "36.20"), ("right", "37.25")))
    pair = Pair("Axle", (left, right), Value("left minus right", "-1.05", "mm", "uneven"))
    rows = _drawn(pair, (), width, 12)
    digits = [row for row in rows if "█" in row or "▀▀▀" in row]
    assert len(digits) >= 3
    assert all(("│" in row) == ruled for row in digits)
    assert all(len({row.index("│")}) == 1 for row in digits if ruled)


LONG = "the calibration of jaws was due on 2026-06-01: take it with another tool, or have it calibrated and read again"


def _page(shown: Value | Pair, page: int, size: tuple[int, int]) -> str:
    sight = Sight()
    sight._shown, sight._from = shown, page
    rows = [row.plain for row in sight.rows(*size)]
    assert len(rows) <= size[1]
    return " ".join(" ".join(rows).replace("… PgDn", " ").split())


@pytest.mark.parametrize("size", [(42, 8), (38, 5), (60, 6)])
def test_what_is_said_of_a_value_can_be_read_to_its_end(size: tuple[int, int]) -> None:
    value = Value("Chain wear", "102.4", "mm", "waiting", LONG, notes=("Mind: it is cold.",))
    pair = Pair("Axle", (value, value), replace(value, reason="", notes=(LONG, "Mind: it is cold.")))
    for shown in (value, pair):
        assert "it is cold" not in _page(shown, 0, size)
        pages = [_page(shown, page + 1, size) for page in range(_pages(shown, *size))]
        assert f"{LONG} Mind: it is cold." in " ".join(page.replace("○ WAITING", "") for page in pages).replace(
            "  ", " "
        )


def test_what_fits_has_no_second_page() -> None:
    assert _pages(Value("Chain wear", "101.8", "mm", "inside", notes=("Mind: it is cold.",)), 60, 12) == 0


HELD = "left: 117 mm is not plausible here (5 mm to 100 mm is): read it again, or take it with another tool"


@pytest.mark.parametrize("size", [(42, 11), (42, 8), (38, 5), (60, 12)])
def test_why_a_pair_waits_can_be_read_to_its_end(size: tuple[int, int]) -> None:
    left, right = Value("left: Axle", "117", "mm", "waiting", HELD), Value("right: Axle", "", "", "waiting")
    pair = Pair("Axle", (left, right), Value("left minus right", "", "", "waiting", HELD))
    first = " ".join(_drawn(pair, (), *size))
    pages = [_page(pair, page + 1, size).replace("○ WAITING", "") for page in range(_pages(pair, *size))]
    assert HELD in " ".join((" ".join(pages) if pages else first).split())
    assert ("PgDn" in first) == bool(pages)


def test_why_a_difference_is_another_is_said_beside_its_number() -> None:
    sides = (Value("left: Axle", "36.20", "mm"), Value("right: Axle", "36.30", "mm"))
    pair = Pair("Axle", sides, Value("left minus right", "-0.60", "mm", "uneven", "less the side offset of 0.50 mm"))
    assert "less the side offset of 0.50 mm" in " ".join(_drawn(pair, (), 42, 12))


@pytest.mark.parametrize(
    ("width", "title"),
    [
        (60, "LEFT 117 mm  ○ WAITING        RIGHT  ○ WAITING"),
        (42, "LEFT 117 mm  ○       RIGHT  ○ WAITING"),
        (24, "LEFT 117 …  RIGHT  ○"),
    ],
)
def test_the_titles_of_two_sides_keep_a_gap(width: int, title: str) -> None:
    left, right = Value("left: Axle", "117", "mm", "waiting"), Value("right: Axle", "", "", "waiting")
    pair = Pair("Axle", (left, right), Value("left minus right", "", "", "waiting"))
    assert _drawn(pair, (), width, 12)[0] == title


def test_how_the_job_stands_can_be_read_to_its_end() -> None:
    lines = (*STANDS[:1], *(caution(f"Mind the {each} part of it all.") for each in ("first", "second", "third")))
    sight = Sight()
    sight._else = lines
    assert [row.plain.rstrip() for row in sight.rows(40, 2)] == [STANDS[0], "! Mind the first part of it all. … PgDn"]
    sight._from = 1
    assert [row.plain.rstrip() for row in sight.rows(40, 2)] == [
        "! Mind the second part of it all.",
        "! Mind the third part of it all.",
    ]


def test_a_kit_that_speaks_of_a_caution_is_none() -> None:
    assert _drawn(None, ("2 of 15", "Kit: Caution: label"), 60, 3) == ["2 of 15", "Kit: Caution: label"]

"""The page of a record: complete, free of scripts, deaf to hostile text, and as a browser shows and prints it."""

import re
import shutil
import subprocess
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest

from logger.record.form import RecordFile
from logger.record.page import as_html
from logger.record.plots import Band, WearPlot, rounds_svg, trace_svg, wear_svg
from logger.record.record import make_record
from logger.record.table import as_csv
from logger.record.told import CommentPart
from logger.record.words import chance
from logger.sheets.store import open_sheet
from logger.shelf.index import job_sums
from logger.trail.keys import bench_key
from tests.played import LAST, TORQUED, WHOLE, play
from tests.tui.hostile import HOSTILE

ZERO = """
[[step]]
id = "zero"
kind = "zero"
title = "Caliper at zero"
tools = ["caliper"]
ask = "Close the jaws and read."
reference = "0 mm"
within = "0.03 mm"
"""
PULL = ((0, "1.0"), (100, "40.0"), (200, "97.5"), (250, "20.0"))
OVERRIDDEN = [*WHOLE[: -len(LAST)], "override pin the new pin is at the depot", "done", "done", "close"]


@pytest.fixture
async def made(tmp_path: Path) -> RecordFile:
    await play(tmp_path / "trail.sqlite", OVERRIDDEN)
    record = make_record(tmp_path / "trail.sqlite", "j1", bench_key(tmp_path / "bench.key"))
    traced = record.pulls[0].model_copy(update={"trace": PULL, "own_peak": "97.5", "host_peak": "97.4"})
    return record.model_copy(update={"pulls": (traced, *record.pulls[1:])})


class Elements(HTMLParser):
    """Every element with the names of its attributes, and all text."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[tuple[str, tuple[str, ...]]] = []
        self.text: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, tuple(name for name, _ in attrs)))

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def _text(page: str) -> str:
    return " ".join(" ".join(Elements(page).text).split())


async def test_the_page_tells_everything(made: RecordFile) -> None:
    page = _text(as_html(made))
    for told in (
        "Depot 7",
        "12480 km",
        "Robin",
        "courier-chain, revision 1, decided by the simple rule",
        "2026-01-05 23:30+00:00",
        "NOT TO BE RIDDEN OR RUN: Split pin, witness marks was let pass by hand",
        "was waiting and was let pass by Robin",
        "“the new pin is at the depot”",
        "25 mm to 40 mm aim 32 mm",
        "▲ 45.0 mm high",
        "31.5 mm",
        "+6.5 mm",
        "Check chain slack again: after 300 km",
        "Engine off and key out.",
        made.head.words,
        made.head.sha256,
        "Signed (Ed25519) by the key",
        "45.00 → ",
        "97.5 N·m, ■ inside the window",
        "largest sample 97.4",
        "fleet 7, rattles",
    ):
        assert told in page, told
    assert as_html(made) == as_html(made)


async def test_the_page_fetches_and_runs_nothing(made: RecordFile) -> None:
    page = as_html(made)
    policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    assert f'<meta http-equiv="Content-Security-Policy" content="{policy}">' in page
    elements = Elements(page).found
    tags = {tag for tag, _ in elements}
    assert not tags & {"script", "link", "iframe", "object", "embed", "img", "form", "base", "foreignobject"}
    names = {name for _, attributes in elements for name in attributes}
    assert not {name for name in names if name.startswith("on")} | names & {"src", "href", "action"}
    assert not re.findall(r'xlink:href="[^#]', page)
    assert len(re.findall(r"\bid=\"([^\"]+)\"", page)) == len(set(re.findall(r"\bid=\"([^\"]+)\"", page)))


_OURS = {
    "format", "unit", "state", "opened", "closed", "offset", "utc", "kind", "verdict", "what", "sha256", "trail",
    "key", "signature", "direction", "how", "quantity", "source",
    "set_aside", "tool_kind", "stated_by", "u", "expanded",
    "chance_inside", "guard", "own_peak", "host_peak", "first_peak",
    "left", "right", "advised_left", "advised_right",
    "difference", "slack", "low_mm", "high_mm", "aim_mm", "agree_mm", "slack_u", "difference_u",
    "pitch_mm", "length_mm",
    "elongation", "limit", "trace", "before", "expected", "check", "step", "place", "governs", "acceptance", "window",
    "agree_within", "rounds", "stands", "at_fastener",
}  # fmt: skip
"""Keys whose text the program makes or has checked; every other text may be anybody's."""


def _poisoned(value: object, text: str) -> object:
    match value:
        case dict():
            return {key: each if key in _OURS else _poisoned(each, text) for key, each in value.items()}
        case tuple() | list():
            return tuple(_poisoned(each, text) for each in value)
        case str() if value:
            return f"{value}{text}"
        case _:
            return value


@pytest.mark.parametrize("text", [*HOSTILE, "</style><svg onload=alert(1)>", "$\\frac{1}{2}$", "'--><b>"])
async def test_hostile_text_makes_no_element_and_no_attribute(made: RecordFile, text: str) -> None:
    unplotted = tuple(pull.model_copy(update={"trace": ()}) for pull in made.pulls)
    plain = made.model_copy(update={"pulls": unplotted, "drive": None})  # no text of others goes into a plot
    page = as_html(RecordFile.model_validate(_poisoned(plain.model_dump(), text)))
    assert Elements(page).found == Elements(as_html(plain)).found
    hidden = [each for each in page if not each.isprintable() and each != "\n"]
    assert hidden == []
    page.encode("utf-8")


async def test_a_zero_check_shows_what_it_must_be(tmp_path: Path) -> None:
    own = open_sheet("courier-chain").text.replace('[[step]]\nid = "wear"', ZERO + '\n[[step]]\nid = "wear"')
    (tmp_path / "own.toml").write_text(own, encoding="utf-8")
    script = [*WHOLE[:4], "0.01 mm", "quit"]
    await play(tmp_path / "trail.sqlite", script, sheet=str(tmp_path / "own.toml"))
    made = make_record(tmp_path / "trail.sqlite", "j1")
    zero = next(each for each in made.checks if each.check == "zero")
    assert (zero.window, zero.aim, zero.within) == (("-0.03 mm", "0.03 mm"), "0 mm", "0.03 mm")
    assert zero.margin == "+0.02 mm"
    page = _text(as_html(made))
    assert "Caliper at zero 0 mm ± 0.03 mm" in page
    assert "aim 0 mm" not in page
    row = next(line for line in as_csv(made).splitlines() if line.startswith("check,,,zero,"))
    assert "'-0.03 mm,0.03 mm,0 mm,inside" in row


async def test_a_sheet_that_asks_for_no_mileage_has_none_missing(tmp_path: Path) -> None:
    await play(tmp_path / "trail.sqlite", ["quit"])
    await play(tmp_path / "trail.sqlite", ["quit"], sheet="parcel-conveyor")
    path = tmp_path / "trail.sqlite"
    chain, conveyor = (make_record(path, job.job) for job in reversed(job_sums(path)[0]))
    assert "Mileage not written down" in _text(as_html(chain))
    assert conveyor.mileage_asked is False
    assert "Mileage" not in _text(as_html(conveyor))


async def test_who_typed_is_told_once(made: RecordFile) -> None:
    page = _text(as_html(made))
    assert "typed (typed)" not in page
    named = made.readings[0].model_copy(update={"tool": "caliper"})
    assert "caliper (typed)" in _text(as_html(made.model_copy(update={"readings": (named,)})))


async def test_comments_are_on_the_page(made: RecordFile) -> None:
    said = CommentPart(seq=99, utc=made.opened, at=7, name="Kim", text="the pin is in", signs=True)
    page = _text(as_html(made.model_copy(update={"comments": (said,)})))
    assert "Signed off by Kim" in page
    assert "on event 7: “the pin is in”" in page


async def test_a_typed_torque_is_marked_as_typed_beside_the_wrench_it_is_of(tmp_path: Path) -> None:
    script = [*WHOLE[: -len(TORQUED) - len(LAST)], "with torque wrench", *TORQUED]
    await play(tmp_path / "trail.sqlite", script)
    record = make_record(tmp_path / "trail.sqlite", "j1")
    assert {pull.tool for pull in record.pulls} == {"torque wrench"}
    assert _text(as_html(record)).count("98 N·m torque wrench (typed) yes") == 1
    sent = tuple(pull.model_copy(update={"source": "sig"}) for pull in record.pulls)
    assert "98 N·m torque wrench (typed)" not in _text(as_html(record.model_copy(update={"pulls": sent})))


async def test_an_open_unsigned_job_without_pulls_has_a_page(tmp_path: Path) -> None:
    await play(tmp_path / "trail.sqlite", WHOLE[:5])
    page = _text(as_html(make_record(tmp_path / "trail.sqlite", "j1")))
    assert "The job is open: this record is of an unfinished job." in page
    assert "not closed" in page
    assert "Not signed." in page
    assert "To settle it: Measure Chain slack" in page


# --- plots ----------------------------------------------------------------------------------------------------------


def test_a_trace_is_drawn_with_its_window_and_its_peak() -> None:
    svg = trace_svg(PULL, "N·m", Band(90, 106), 97.5, "Pull 1")
    assert svg.startswith('<svg role="img" aria-label="Pull 1"')
    assert svg.count("stroke-dasharray") >= 2
    assert ">97.5</text>" in svg
    assert ">N·m</text>" in svg
    assert svg == trace_svg(PULL, "N·m", Band(90, 106), 97.5, "Pull 1")


def test_a_unit_is_text_and_no_markup() -> None:
    svg = trace_svg(PULL, '$x$<script>"', None, None, '"><script>')
    assert "<script" not in svg
    assert "$x$&lt;script&gt;" in svg
    assert 'aria-label="&#34;&gt;&lt;script&gt;"' in svg


# --- through an adapter ---


async def test_a_pull_through_an_adapter_shows_both_figures_and_where_it_stands(tmp_path: Path) -> None:
    """98 N·m on a wrench of 480 mm with 80 mm straight out: 98 * 560 / 480 = 114.33 N·m, above 106 N·m."""
    script = [*WHOLE[: -len(TORQUED) - len(LAST)], "adapter axle_nut 480 mm 80 mm", "98 N·m", "quit"]
    await play(tmp_path / "trail.sqlite", script)
    made = make_record(tmp_path / "trail.sqlite", "j1")
    (pull,) = made.pulls
    assert (pull.own_peak, pull.at_fastener, pull.stands, pull.window) == ("98", "114.3", "high", ("90 N·m", "106 N·m"))
    page = _text(as_html(made))
    both = "114.3 N·m at the fastener (the wrench read 98 N·m)"
    assert f"{both}, ▲ above the window" in page
    assert page.count(both) == 2  # under the plots, and where everything is listed
    traced = pull.model_copy(update={"trace": PULL, "own_peak": "98"})
    drawn = as_html(made.model_copy(update={"pulls": (traced,)}))
    assert "with an adapter as the wrench has to read it" in drawn


async def test_zeros_that_nobody_counts_are_kept_as_sent_and_left_out_of_the_page(tmp_path: Path) -> None:
    await play(tmp_path / "trail.sqlite", [*WHOLE[: -len(TORQUED) - len(LAST)], "98.0000 N·m", "quit"])
    made = make_record(tmp_path / "trail.sqlite", "j1")
    (pull,) = made.pulls
    assert (pull.own_peak, pull.at_fastener) == ("98.0000", "98.00")
    page = _text(as_html(made))
    assert "98.00 N·m, ■ inside the window" in page
    assert "98.0000" not in page


# --- the rounds ---


async def test_slack_that_was_read_only_after_a_pull_is_told_so(made: RecordFile) -> None:
    rounds = tuple(each for each in made.rounds if each.after == 0 or each.tight)
    page = _text(as_html(made.model_copy(update={"rounds": rounds})))
    assert re.search(r"45\.00 → \d+\.\d\d → 31\.50 mm, after a pull", page)


@pytest.mark.parametrize("then", [(), ("36.9 mm", "36.8 mm", "98 N·m")])
async def test_slack_read_after_a_pull_that_came_too_early_stands_in_the_table(
    tmp_path: Path, then: tuple[str, ...]
) -> None:
    """The pull is not asked for before the slack is read, so the nut is loosened and the slack read after it."""
    early = [*WHOLE[: -len(TORQUED) - len(LAST) - 4], "98 N·m", "loosened", "100.0 mm", "137.4 mm", *then, "quit"]
    await play(tmp_path / "trail.sqlite", early)
    made = make_record(tmp_path / "trail.sqlite", "j1")
    assert [(each.after, each.tight, each.slack) for each in made.rounds][1:] == [(1, False, "37.400")]
    assert re.search(r"→ 30\.40 → 37\.40 mm -0\.60", _text(as_html(made)))


async def test_rounds_are_drawn_with_what_was_expected(made: RecordFile) -> None:
    assert made.drive is not None
    svg = rounds_svg(made.drive, made.rounds, made.turns, "Rounds")
    for told in ("as found", "after turn 1", "expected", "nut tight", "slack, mm", "left minus right, mm"):
        assert told in svg


def test_wear_is_drawn_up_to_its_limit() -> None:
    svg = wear_svg(WearPlot([(1000, 0.1), (2000, 0.2)], "km", 1.0, (0.0001, 0.0), 10000), "Wear")
    assert "worn out" in svg
    assert ">10000</text>" in svg


# --- in a browser ---------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def browser() -> str:
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if found is None:
        pytest.skip("Chromium is not installed")
    return found


def _browse(browser: str, page: Path, *options: str) -> subprocess.CompletedProcess[str]:
    profile = page.parent / "profile"
    common = ("--headless", "--no-sandbox", "--disable-gpu", "--enable-logging=stderr", f"--user-data-dir={profile}")
    command = [browser, *common, *options, page.as_uri()]
    return subprocess.run(command, capture_output=True, text=True, timeout=90, cwd=page.parent)


def _pages(pdf: bytes) -> Iterator[bytes]:
    return iter(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


async def test_a_browser_prints_it_whole_and_says_nothing(made: RecordFile, tmp_path: Path, browser: str) -> None:
    page = tmp_path / "record.html"
    page.write_text(as_html(made), encoding="utf-8")
    ran = _browse(browser, page, "--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'record.pdf'}")
    assert "CONSOLE" not in ran.stderr
    assert (
        len(list(_pages((tmp_path / "record.pdf").read_bytes()))) == 4
    )  # at its own size: nothing is so wide that it is shrunk


async def test_a_browser_that_is_told_to_run_something_says_so(tmp_path: Path, browser: str) -> None:
    """The check above would see it: the same policy refuses a script, and the browser tells."""
    page = tmp_path / "bad.html"
    policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    page.write_text(
        f'<meta http-equiv="Content-Security-Policy" content="{policy}"><script>document.title = "ran"</script>'
    )
    ran = _browse(browser, page, "--dump-dom")
    assert "CONSOLE" in ran.stderr
    assert "ran</title>" not in ran.stdout


def test_no_chance_is_claimed_where_nothing_is_known() -> None:
    assert chance("") == "–"
    assert chance("1.000000") == "over 99.9 %"
    assert chance("0.500000") == "50.0 %"

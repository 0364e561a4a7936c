"""A trail of another, its chain right: every command that reads jobs back answers, or says in a sentence why not."""

import json
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from logger.errors import EvenhandError
from logger.events import Record
from tests.forged import DIGITS, MARKUP, UNITS, Tree, edged, forged, leaves, played, put, resheeted
from tests.fuzz import ends, fuzzed, within
from tui.cli import main
from tui.exits import Exit

Job = list[Tree]
COMMANDS = (
    ("record", "j1", "--format", "html"),
    ("record", "j1", "--format", "csv"),
    ("record", "j1"),
    ("replay", "j1", "--plain", "--check"),
    ("rejudge", "j1", "--decision", "guarded"),
    ("rejudge", "--all", "--decision", "simple", "--json"),
    ("recall", "typed", "--error", "0.1 mm", "--look"),
    ("recall", "TW-1", "--error", "-3 %", "--look", "--json"),
    ("history", "Depot 7"),
    ("due",),
    ("due", "--json"),
    ("jobs", "--json"),
)
ROOM = 1 << 30


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("forged")


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    return played(tmp_path_factory.mktemp("played") / "trail.sqlite")


class Page(HTMLParser):
    """What a page is made of, as a browser would read it."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.text = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}

    def handle_data(self, data: str) -> None:
        self.text += data


MOST_PAGE = 4 << 20
FORBIDDEN = {"script", "img", "iframe", "object", "embed", "form", "input", "base", "b", "image"}


def said(folder: Path, capfd: pytest.CaptureFixture[str], words: tuple[str, ...]) -> tuple[int, str, str]:
    """Give a command its words; return how it ended and what it said, which is a sentence where it is refused."""
    with ends():
        code = main([*words, "--home", str(folder)])
    out, err = capfd.readouterr()
    crash = next(folder.glob("crash-*.txt"), None)
    assert code != Exit.FAULT, f"{words}: {err} {crash.read_text() if crash else ''}"
    assert code in (Exit.DONE, Exit.DAMAGED, Exit.BAD_INPUT), words
    assert "Traceback" not in out + err
    assert len(err) < 4000
    return code, out, err


def looked_over(
    folder: Path, capfd: pytest.CaptureFixture[str], commands: tuple[tuple[str, ...], ...] = COMMANDS
) -> None:
    """Read a forged trail back by every command; its page has no markup but its own."""
    with within(ROOM):
        for words in commands:
            code, out, err = said(folder, capfd, words)
            assert out or err
            if words[-1] == "html" and code == Exit.DONE:
                page = Page(out)
                assert not page.tags & FORBIDDEN
                assert not [name for name in page.attributes if name.startswith("on")]
                assert len(out) < MOST_PAGE


@fuzzed(8)
@given(st.data())
def test_fuzz_a_job_of_another_with_values_at_the_edges(
    folder: Path, job: Job, capfd: pytest.CaptureFixture[str], data: st.DataObject
) -> None:
    try:
        forged(folder, data.draw(edged(job)))
    except EvenhandError:  # what no record can hold
        return
    looked_over(folder, capfd)


# --- what a forger would think of first ------------------------------------------------------------------------------

KEPT = {"kind", "unit", "place", "step", "check", "tool", "wrench", "extension", "prompt", "offset", "sheet_text"}
"""What a record needs in order to be more than a list of what is missing."""


def marked(record: Tree, words: str) -> Tree:
    """Return a record with these words wherever its model takes them."""
    for place, value in list(leaves(record)):
        if place[0] in ("event", "shown") and place[-1] not in KEPT and isinstance(value, str):
            try:
                changed = put(record, place, words)
                Record.model_validate_json(json.dumps(changed | {"seq": 1}))
            except ValidationError:
                continue
            record = changed
    return record


@pytest.mark.parametrize("words", MARKUP)
def test_markup_in_every_text_stays_text(folder: Path, job: Job, capfd: pytest.CaptureFixture[str], words: str) -> None:
    text = job[0]["event"]["sheet_text"]
    forged(folder, [resheeted(marked(job[0], words), words, text), *(marked(each, words) for each in job[1:])])
    looked_over(folder, capfd)
    code, out, _ = said(folder, capfd, ("record", "j1", "--format", "html"))
    page = Page(out)
    assert code == Exit.DONE
    assert "svg" in page.tags
    assert page.text.count(words) > 10


def with_pull(job: Job, **figures: object) -> Job:
    at = next(n for n, each in enumerate(job) if each["event"]["kind"] == "pull_taken")
    return [*job[:at], job[at] | {"event": job[at]["event"] | figures}, *job[at + 1 :]]


def test_a_trace_as_long_as_a_record_goes_is_a_plot_of_bounded_size(
    folder: Path, job: Job, capfd: pytest.CaptureFixture[str]
) -> None:
    trace = [[ms, str(ms * 7919 % 97)] for ms in range(70_000)]
    forged(folder, with_pull(job, trace=trace))
    looked_over(folder, capfd, (COMMANDS[0], ("replay", "j1", "--plain", "--check")))
    with pytest.raises(EvenhandError, match="at most 1048576"):
        forged(folder, with_pull(job, trace=[[ms, "98.1"] for ms in range(100_000)]))


@pytest.mark.parametrize("digits", DIGITS)
def test_a_pull_of_any_digits_is_found_anew_or_told_in_a_line(
    folder: Path, job: Job, capfd: pytest.CaptureFixture[str], digits: str
) -> None:
    figures: dict[str, object] = {"start": digits, "rest": digits, "noise": digits, "click_ms": 1 - 2**53}
    trace = [[0, digits], [2**53 - 1, "90"], [5, digits], [1 - 2**53, "0"]]
    peaks = dict.fromkeys(("own_peak", "host_peak", "first_peak", "under_read"), digits)
    forged(folder, with_pull(job, figures=figures, trace=trace, **peaks))
    looked_over(folder, capfd)


@pytest.mark.parametrize("unit", [*UNITS, "N·m" * 1000])
def test_a_pull_of_any_unit_is_found_anew_or_told_in_a_line(
    folder: Path, job: Job, capfd: pytest.CaptureFixture[str], unit: str
) -> None:
    forged(folder, with_pull(job, unit=unit))
    looked_over(folder, capfd)

"""What is typed at the bench, by a person or a tool that acts as a keyboard: every line is an answer or refused."""

import asyncio
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.shelf.shelf import load_job
from logger.trail.read import verify
from tests.fuzz import PIECES, ends, fuzzed, spoiled
from tests.played import WHOLE, play
from tui.entry.typed_lines import MOST_BYTES, split

WORDS = (
    *("36.2 mm", "98 N·m", "done", "turned", "turned left 1 right -1/2", "loosened", "note x", "note 12480", "close"),
    *("take back", "override Robin because", "tool A-1 caliper", "adapter 400 mm 40 mm 45", "help", "checks", "why"),
    *("confirm", "seated", "untouched", "comment x", "", "1e5 mm", "12,5 mm", "0 mm", "-3 mm", "999999999999 mm"),
)
LINES = st.sampled_from([*WORDS, *WHOLE]) | spoiled(st.sampled_from([*WORDS, *WHOLE])) | PIECES | st.text(max_size=40)


def _stripped(line: str) -> str:
    """Return a line as it comes out of the reader of typed lines."""
    (found,) = list(split([line.replace("\n", " ").encode("utf-8", "replace") + b"\n"]))
    return found


@fuzzed(12)
@given(st.lists(LINES.map(_stripped), max_size=12), st.integers(0, len(WHOLE)))
def test_fuzz_any_lines_at_any_prompt_leave_a_sound_trail_that_reads_back(
    tmp_path_factory: pytest.TempPathFactory, lines: list[str], after: int
) -> None:
    path: Path = tmp_path_factory.mktemp("typed") / "trail.sqlite"
    with ends():
        said = asyncio.run(play(path, [*WHOLE[:after], *lines]))
        assert all("Traceback" not in each for each in said)
        assert verify(path).sound
        job, records = load_job(path, "j1")
    assert job.id == "j1"
    assert records


@fuzzed(60)
@given(st.lists(st.binary(max_size=60) | st.binary(min_size=1, max_size=1).map(lambda octet: octet * 5000), max_size=8))
def test_fuzz_any_octets_of_a_terminal_are_lines_of_a_bounded_length(chunks: list[bytes]) -> None:
    for line in split(chunks):
        assert len(line) <= MOST_BYTES * 3 + 1
        assert "\n" not in line


def test_a_line_of_100_mb_is_never_held() -> None:
    (line,) = list(split(b"9" * 65536 for _ in range(1600)))
    assert len(line) == MOST_BYTES + 1

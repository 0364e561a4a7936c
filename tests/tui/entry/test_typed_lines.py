import asyncio
import os
import pty
from pathlib import Path

import pytest

from tui.entry.typed_lines import MOST_BYTES, TypedLines, split


def test_lines_do_not_depend_on_how_bytes_arrive() -> None:
    text = "36.2 mm\r\nnote Kette läuft\n\nclose".encode()
    whole = list(split([text]))
    assert whole == ["36.2 mm", "note Kette läuft", "", "close"]
    assert list(split([text[place : place + 1] for place in range(len(text))])) == whole


def test_text_becomes_nfc_and_bytes_that_are_no_text_stay_visible() -> None:
    assert list(split([b"note e\xcc\x81\n", b"note \xff\n"])) == ["note \u00e9", "note \ufffd"]


def test_a_line_without_end_is_cut_and_known_to_be_too_long() -> None:
    (line,) = split([b"9" * 10_000] * 50)
    assert len(line) == MOST_BYTES + 1


@pytest.mark.parametrize(
    "line",
    [
        b"36.2 mm" + b" " * 2045 + b"inches really",
        b" " * MOST_BYTES + b"36.2 mm",
        b"36.2 mm" + b" " * MOST_BYTES,
        b"note " + "\u00e9".encode() * (MOST_BYTES // 2),
        b"note " + "e\u0301".encode() * (MOST_BYTES // 3),
    ],
)
def test_what_is_too_long_in_bytes_stays_too_long_whatever_it_would_shrink_to(line: bytes) -> None:
    whole = [line + b"\n36.3 mm\n"]
    apart = [whole[0][place : place + 1] for place in range(len(whole[0]))]
    for chunks in (whole, apart):
        cut, after = split(chunks)
        assert len(cut) == MOST_BYTES + 1
        assert after == "36.3 mm"


def test_the_longest_line_is_taken_whole() -> None:
    line = b"note " + b"x" * (MOST_BYTES - 5)
    assert list(split([line + b"\n"])) == [line.decode()]


async def _all(descriptor: int) -> list[str]:
    return [line async for line in TypedLines(descriptor)]


async def test_reads_a_regular_file_to_its_end(tmp_path: Path) -> None:
    (tmp_path / "typed").write_text("".join(f"note {number}\n" for number in range(1000)))
    descriptor = os.open(tmp_path / "typed", os.O_RDONLY)
    try:
        assert await _all(descriptor) == [f"note {number}" for number in range(1000)]
    finally:
        os.close(descriptor)


async def test_a_silent_pipe_does_not_hold_the_loop_up() -> None:
    read, write = os.pipe()
    lines = TypedLines(read)
    waiting = asyncio.ensure_future(anext(lines))
    await asyncio.sleep(0)
    assert not waiting.done()
    os.write(write, b"done\n")
    assert await waiting == "done"
    os.close(write)
    with pytest.raises(StopAsyncIteration):
        await anext(lines)
    os.close(read)


@pytest.mark.pty
async def test_reads_a_terminal() -> None:
    ours, theirs = pty.openpty()
    os.write(ours, b"36.2 mm\n\x04")
    assert await _all(theirs) == ["36.2 mm"]
    os.close(ours)
    os.close(theirs)


def test_a_command_names_its_lines_before_its_loop_runs() -> None:
    read, write = os.pipe()
    lines = TypedLines(read)
    os.write(write, b"30.41 mm\n")
    os.close(write)

    async def heard() -> list[str]:
        return [line async for line in lines]

    assert asyncio.run(heard()) == ["30.41 mm"]

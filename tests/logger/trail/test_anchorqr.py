"""What is printed of a head: words, one line, and a QR code whose picture is the code's matrix."""

import io
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
import segno
import zxingcpp

from logger.trail.anchor import as_text, from_text
from logger.trail.anchorqr import qr_lines, qr_svg

from .headed import HEAD


def test_the_svg_stands_inline_and_has_no_script() -> None:
    root = ET.fromstring(qr_svg(HEAD))
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert {child.tag.split("}")[1] for child in root.iter()} <= {"svg", "title", "path", "g"}
    assert qr_svg(HEAD) == qr_svg(HEAD)


def picture(drawn: tuple[str, ...]) -> list[list[int]]:
    """The lines of half blocks as rows of modules, 1 is dark."""
    dark = {"█": (0, 0), "▀": (0, 1), "▄": (1, 0), " ": (1, 1)}
    return [[dark[each][half] for each in line] for line in drawn for half in (0, 1)]


@pytest.mark.parametrize("seq", [0, 41, 10**14])
def test_another_library_reads_the_drawn_code(seq: int) -> None:
    head = replace(HEAD, seq=seq)
    drawn = qr_lines(head)
    assert len({len(line) for line in drawn}) == 1
    pixels = np.array(picture(drawn), dtype=np.uint8)
    (found,) = zxingcpp.read_barcodes(((1 - pixels) * 255).repeat(4, axis=0).repeat(4, axis=1))
    assert found.text == as_text(head)
    assert from_text(found.text) == head


def test_the_drawn_code_and_the_svg_are_one_matrix() -> None:
    code = segno.make_qr(as_text(HEAD), error="m")
    rows = picture(qr_lines(HEAD))
    assert [bytes(row[2:-2]) for row in rows[2 : 2 + len(code.matrix)]] == [bytes(row) for row in code.matrix]
    assert code.mode == "alphanumeric"
    out = io.BytesIO()
    code.save(out, kind="svg", scale=3, border=4, xmldecl=False, title="Head of the trail")
    assert out.getvalue().decode() == qr_svg(HEAD)

"""What is printed of a head: words, one line, and a QR code whose picture is the code's matrix."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import segno

from logger.anchor import as_text
from logger.anchorqr import anchor_lines, qr_lines, qr_svg
from tests.logger.test_anchor import HEAD


def test_the_lines_say_it_in_words_and_how_to_use_them() -> None:
    words, text, signed, use = anchor_lines(HEAD)
    assert words == HEAD.words
    assert text == as_text(HEAD)
    assert signed == "Not signed."
    assert use.endswith(f'evenhand verify --against "{words}"')
    assert "ab" * 32 in anchor_lines(replace(HEAD, key=b"\xab" * 32, signature=b"\1" * 64))[2]


def test_the_svg_stands_inline_and_has_no_script() -> None:
    root = ET.fromstring(qr_svg(HEAD))
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert {child.tag.split("}")[1] for child in root.iter()} <= {"svg", "title", "path", "g"}
    assert qr_svg(HEAD) == qr_svg(HEAD)


def test_the_drawn_code_is_the_matrix() -> None:
    drawn = qr_lines(HEAD)
    code = segno.make_qr(as_text(HEAD), error="m")
    assert len({len(line) for line in drawn}) == 1
    dark = {"█": (0, 0), "▀": (0, 1), "▄": (1, 0), " ": (1, 1)}
    rows = [[dark[each][half] for each in line] for line in drawn for half in (0, 1)]
    found = [bytes(row[2:-2]) for row in rows[2 : 2 + len(code.matrix)]]
    assert found == [bytes(row) for row in code.matrix]
    assert code.mode == "alphanumeric"

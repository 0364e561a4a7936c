"""The head of a trail as it is printed on a record: words, one line, and a QR code; the only importer of segno."""

import io

import segno

from .anchor import Anchor, as_text


def qr_svg(anchor: Anchor, scale: int = 3) -> str:
    """Return the QR code (ISO/IEC 18004, error correction M or better) as an SVG element to stand inline in a page."""
    out = io.BytesIO()
    _code(anchor).save(out, kind="svg", scale=scale, border=4, xmldecl=False, svgns=True, title="Head of the trail")
    return out.getvalue().decode()


def qr_lines(anchor: Anchor) -> tuple[str, ...]:
    """Return the QR code as lines of half blocks, dark on light, with its quiet zone."""
    rows = [list(row) for row in _code(anchor).matrix_iter(border=2)]
    if len(rows) % 2:
        rows.append([0] * len(rows[0]))
    halves = {(0, 0): "█", (0, 1): "▀", (1, 0): "▄", (1, 1): " "}
    return tuple(
        "".join(halves[bool(up), bool(down)] for up, down in zip(upper, lower, strict=True))
        for upper, lower in zip(rows[::2], rows[1::2], strict=True)
    )


def _code(anchor: Anchor) -> segno.QRCode:
    return segno.make_qr(as_text(anchor), error="m")

"""Big letters and digits out of quadrant blocks, to be read from two metres; pure.

Every glyph is five pixels high; a pixel is a quarter of a cell, or a multiple of it. Text with a character that has
no glyph is not drawn big at all, so that nothing is ever left out of it.
"""

from collections.abc import Iterator
from functools import lru_cache

_ART = """
A .#. #.# ### #.# #.#
B ##. #.# ##. #.# ##.
C .## #.. #.. #.. .##
D ##. #.# #.# #.# ##.
E ### #.. ##. #.. ###
F ### #.. ##. #.. #..
G .## #.. #.# #.# .##
H #.# #.# ### #.# #.#
I ### .#. .#. .#. ###
J ..# ..# ..# #.# .#.
K #.# #.# ##. #.# #.#
L #.. #.. #.. #.. ###
M #...# ##.## #.#.# #...# #...#
N #..# ##.# #.## #..# #..#
O .#. #.# #.# #.# .#.
P ##. #.# ##. #.. #..
Q .#. #.# #.# ### .##
R ##. #.# ##. #.# #.#
S .## #.. .#. ..# ##.
T ### .#. .#. .#. .#.
U #.# #.# #.# #.# ###
V #.# #.# #.# #.# .#.
W #...# #...# #.#.# ##.## #...#
X #.# #.# .#. #.# #.#
Y #.# #.# .#. .#. .#.
Z ### ..# .#. #.. ###
0 ### #.# #.# #.# ###
1 .#. ##. .#. .#. ###
2 ### ..# ### #.. ###
3 ### ..# .## ..# ###
4 #.# #.# ### ..# ..#
5 ### #.. ### ..# ###
6 ### #.. ### #.# ###
7 ### ..# ..# .#. .#.
8 ### #.# ### #.# ###
9 ### #.# ### ..# ###
. . . . . #
, .. .. .. .# #.
: . # . # .
- .. .. ## .. ..
– ... ... ### ... ...
+ ... .#. ### .#. ...
? ##. ..# .#. ... .#.
! # # # . #
' # # . . .
/ ..# ..# .#. #.. #..
( .# #. #. #. .#
) #. .# .# .# #.
% #.# ..# .#. #.. #.#
· . . # . .
½ #...# #..#. #.### .#..# #..##
≈ .... .#.# #.#. .#.# #.#.
× ... #.# .#. #.# ...
"""
HEIGHT = 5
_SPACE = ("..",) * HEIGHT
_QUADRANTS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
"""By bits: upper left 1, upper right 2, lower left 4, lower right 8."""


def _glyphs() -> dict[str, tuple[str, ...]]:
    parts = (line.split(" ") for line in _ART.strip().splitlines())
    return {part[0]: tuple(part[1:]) for part in parts} | {" ": _SPACE}


GLYPHS = _glyphs()
Scale = tuple[int, int]
"""Quarter cells across and down for one pixel."""
SCALES: tuple[Scale, ...] = (
    (24, 18),
    (24, 15),
    (24, 12),
    (20, 15),
    (20, 12),
    (20, 10),
    (16, 12),
    (16, 10),
    (16, 8),
    (12, 9),
    (12, 8),
    (12, 6),
    (10, 7),
    (10, 5),
    (8, 6),
    (8, 5),
    (8, 4),
    (6, 4),
    (6, 3),
    (4, 3),
    (4, 2),
    (3, 2),
    (2, 2),
    (2, 1),
    (1, 1),
)
"""Widest first; of one width the tallest, half as tall again as wide at most."""


def drawable(text: str) -> bool:
    """Whether every character has a glyph; small letters are drawn as capitals."""
    return all(character in GLYPHS for character in text.upper())


def _pixels(text: str) -> list[str]:
    glyphs = [GLYPHS[character] for character in text.upper()]
    return [".".join(glyph[row] for glyph in glyphs) for row in range(HEIGHT)]


def size(text: str, scale: Scale) -> tuple[int, int]:
    """Columns and rows that drawable text takes at a scale."""
    width = sum(len(GLYPHS[character][0]) + 1 for character in text.upper()) - 1
    return -(-width * scale[0] // 2), -(-HEIGHT * scale[1] // 2)


@lru_cache(maxsize=256)
def draw(text: str, scale: Scale) -> tuple[str, ...]:
    """Return the rows of drawable text; every row is as wide as `size` says."""
    across, down = scale
    wide = ["".join(pixel * across for pixel in row) for row in _pixels(text)]
    tall = [row for row in wide for _ in range(down)]
    columns, rows = size(text, scale)
    grid = [row.ljust(columns * 2, ".") for row in tall]
    grid += ["." * columns * 2] * (rows * 2 - len(grid))
    return tuple(
        "".join(_cell(grid[2 * row], grid[2 * row + 1], 2 * column) for column in range(columns)) for row in range(rows)
    )


def _cell(upper: str, lower: str, at: int) -> str:
    bits = (upper[at], upper[at + 1], lower[at], lower[at + 1])
    return _QUADRANTS[sum(1 << place for place, bit in enumerate(bits) if bit == "#")]


def largest(text: str, width: int, height: int) -> Scale | None:
    """Return the largest scale at which text fits; None when it fits at none or cannot be drawn."""
    if not text or not drawable(text):
        return None
    for scale in SCALES:
        columns, rows = size(text, scale)
        if columns <= width and rows <= height:
            return scale
    return None


def big(text: str, width: int, height: int) -> tuple[str, ...] | None:
    """Return text as big as it fits, or None."""
    scale = largest(text, width, height)
    return None if scale is None else draw(text, scale)


def stacked(lines: tuple[str, ...], scale: Scale) -> tuple[str, ...]:
    """Return several lines at one scale, a little apart where their letters would touch."""
    between = ("",) if scale[1] % 2 == 0 else ()
    rows = [draw(line, scale) for line in lines]
    return (*(row for one in rows[:-1] for row in (*one, *between)), *rows[-1])


def broken(text: str, width: int, height: int) -> tuple[str, ...]:
    """Return text on one line, or on two where that is bigger; nothing where it does not fit at all."""
    found: list[tuple[Scale, int, tuple[str, ...]]] = []
    for lines in _splits(text):
        scales = [largest(line, width, height // len(lines)) or (0, 0) for line in lines]
        found.append((min(scales), -len(lines), lines))
    scale, _, lines = max(found)
    return stacked(lines, scale) if scale[0] else ()


def _splits(text: str) -> Iterator[tuple[str, ...]]:
    """The text on one line, and on two about equally long."""
    yield (text,)
    spaces = [at for at, character in enumerate(text) if character == " "]
    if spaces:
        middle = min(spaces, key=lambda at: abs(at - len(text) // 2))
        yield text[:middle], text[middle + 1 :]

"""Tools that never were: random layouts of frames, each with what its display showed, from a seed."""

import random
import struct
from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Literal

from drivers.octets import FLOAT, SFLOAT
from logger.learn.capture import Seen, Shown
from logger.units import parse_quantity

OWN = "7a5b0001-0d5e-4c1c-9c3a-3f1a6f0c9e01"
OTHER = "7a5b0002-0d5e-4c1c-9c3a-3f1a6f0c9e01"
Write = Callable[[Decimal, str], bytes]
"""What the display shows, and its unit -> the octets of the number."""

UNITS = {"mm": ("mm", 2, 150), "in": ("in", 4, 3), "N·m": ("N·m", 1, 200), "lbf·ft": ("ft-lb", 1, 150)}
"""As the display spells it, the digits after its point, the largest value."""


@dataclass(frozen=True)
class Frame:
    """One frame, and what the display showed; None for another kind of message."""

    uuid: str
    octets: bytes
    truth: str | None


@dataclass(frozen=True)
class Tool:
    """One tool that never was."""

    what: str
    frames: tuple[Frame, ...]


def seen(tool: Tool, told: set[int]) -> list[Seen]:
    """Return the capture of a tool, with what was shown beside the frames at these places."""
    return [
        Seen(
            i + 1, each.uuid, each.uuid, each.octets.hex(), each.octets, _shown(each.truth or "") if i in told else None
        )
        for i, each in enumerate(tool.frames)
    ]


def _shown(text: str) -> Shown:
    quantity = parse_quantity(text)
    number, _, spelled = text.partition(" ")
    return Shown(Decimal(number), len(number.partition(".")[2]), quantity.unit, spelled, number)


def _whole(rng: random.Random, digits: dict[str, int]) -> tuple[str, Write]:
    width = rng.choice([2, 2, 2, 3, 4, 4, 5, 6, 7, 8])
    order: Literal["little", "big"] = rng.choice(["little", "big"])
    form = rng.choice(["signed", "unsigned", "sign-magnitude"])
    finer = rng.choice([0, 0, 0, 1, 2]) if width > 2 else 0

    def write(value: Decimal, unit: str) -> bytes:
        count = int(value.scaleb(digits[unit] + finer))
        if form == "sign-magnitude" and count < 0:
            count = -count | 1 << (8 * width - 1)
        return count.to_bytes(width, order, signed=form == "signed")

    return f"{form} {8 * width} {order} {finer}", write


def _bcd(rng: random.Random, digits: dict[str, int]) -> tuple[str, Write]:
    width, order = rng.choice([3, 4, 5]), rng.choice(["little", "big"])

    def write(value: Decimal, unit: str) -> bytes:
        packed = bytes.fromhex(str(int(abs(value).scaleb(digits[unit]))).rjust(2 * width, "0"))
        return packed if order == "big" else packed[::-1]

    return f"bcd {width} {order}", write


def _float(rng: random.Random, _: dict[str, int]) -> tuple[str, Write]:
    code = rng.choice(["<f", ">f", "<d", ">d"])
    return f"float {code}", lambda value, _: struct.pack(code, float(value))


def _medical(rng: random.Random, _: dict[str, int]) -> tuple[str, Write]:
    form, order = rng.choice([FLOAT, FLOAT, SFLOAT]), rng.choice(["little", "big"])

    def write(value: Decimal, _: str) -> bytes:
        octets = form.encode(value)
        return octets if order == "little" else octets[::-1]

    return f"medical {8 * form.size} {order}", write


def _values(rng: random.Random, unit: str, count: int, signed: bool) -> list[Decimal]:
    _, digits, most = UNITS[unit]
    step = Decimal(1).scaleb(-digits)
    found = [Decimal(0).quantize(step)]
    while len(found) < count:
        value = Decimal(str(rng.uniform(-0.2 * most if signed else 0, most))).quantize(step, rounding=ROUND_HALF_EVEN)
        found.append(value)
    rng.shuffle(found)
    return found


def make(seed: int, count: int = 24) -> Tool:
    """Return the tool of a seed."""
    rng = random.Random(seed)
    return _text_tool(rng, count) if rng.random() < 0.15 else _binary_tool(rng, count)


@dataclass(frozen=True)
class Layout:
    """What surrounds the number of one tool."""

    head: bytes
    kinds: tuple[int, int] | None
    """The octet that says measurement or status, where there is one."""
    flags_first: bool
    battery: Literal["none", "before", "after"]
    counts: bool
    check: str
    level: int
    start: int

    def frame(self, number: bytes, flags: int, turn: int) -> bytes:
        """Return a measurement."""
        battery = bytes([self.level - turn // 9])
        body = self.head + (bytes([self.kinds[0]]) if self.kinds else b"")
        body += battery * (self.battery == "before")
        body += bytes([flags]) + number if self.flags_first else number + bytes([flags])
        body += battery * (self.battery == "after") + bytes([(self.start + turn) % 256]) * self.counts
        return body + _check(self.check, body)

    def status(self, rng: random.Random, size: int) -> bytes:
        """Return a status frame: of the same size where an octet says so, else shorter or longer."""
        rest = bytes([self.level, 0, rng.randrange(4)])
        if self.kinds:
            body = self.head + bytes([self.kinds[1]]) + rest + bytes(size)
            body = body[: size - (self.check != "none")]
        else:
            body = self.head + rest[: 2 if size != len(self.head) + 2 + (self.check != "none") else 3]
        return body + _check(self.check, body)


def _layout(rng: random.Random) -> Layout:
    return Layout(
        head=bytes(rng.randrange(256) for _ in range(rng.randrange(3))),
        kinds=rng.choice([None, (0x11, 0x22), (0x01, 0x02), (0xA0, 0xAF), (0x4D, 0x53)]),
        flags_first=rng.random() < 0.5,
        battery=rng.choice(["none", "before", "after"]),
        counts=rng.random() < 0.6,
        check=rng.choice(["none", "sum", "xor"]),
        level=rng.randrange(40, 100),
        start=rng.randrange(256),
    )


def _binary_tool(rng: random.Random, count: int) -> Tool:
    family = rng.choice([["mm", "in"], ["N·m", "lbf·ft"]])
    units = family if rng.random() < 0.4 else [rng.choice(family)]
    what, write = rng.choice([_whole, _whole, _whole, _bcd, _float, _medical])(rng, {u: UNITS[u][1] for u in UNITS})
    layout, signed = _layout(rng), not what.startswith(("unsigned", "medical 16"))
    low_battery, apart = rng.random() < 0.5, what.startswith("bcd")
    frames: list[Frame] = []
    for i, value in enumerate(_values(rng, units[0], count, signed)):
        unit = units[0] if len(units) == 1 else rng.choice(units)
        amount = value if unit == units[0] else rng.choice(_values(rng, unit, 5, signed))
        if what.startswith("medical 16"):
            amount = amount.quantize(Decimal("0.1")) if abs(amount) < 200 else amount.quantize(Decimal(1))
        flags = (units.index(unit) if len(units) > 1 else 0) | (0x40 if low_battery and i >= count - 2 else 0)
        flags |= 0x80 if apart and amount < 0 else 0
        octets = layout.frame(write(amount, unit), flags, i)
        frames.append(Frame(OWN, octets, f"{amount} {UNITS[unit][0]}"))
        if rng.random() < 0.2:
            frames.append(Frame(OWN, layout.status(rng, len(octets)), None))
        if rng.random() < 0.1:
            frames.append(Frame(OTHER, bytes([layout.level - i // 9]), None))
    return Tool(f"{what}; {'/'.join(units)}", tuple(frames))


def _check(kind: str, body: bytes) -> bytes:
    if kind == "none":
        return b""
    total = 0
    for octet in body:
        total = total + octet if kind == "sum" else total ^ octet
    return bytes([total % 256])


def _text_tool(rng: random.Random, count: int) -> Tool:
    unit = rng.choice(list(UNITS))
    spelled = UNITS[unit][0]
    mark = rng.choice([".", ",", ""])
    lead = rng.choice(["", "L", "ST,GS,", "#"])
    counted = lead == "#"
    padded, end = rng.choice([0, 8]), rng.choice(["\r\n", "\n", ""])
    says = rng.choice([" mm", "mm"]) if unit == "mm" else rng.choice(["", " " + spelled])
    frames: list[Frame] = []
    for i, value in enumerate(_values(rng, unit, count, signed=True)):
        number = f"{value:+f}".replace(".", mark)
        number = number[0] + number[1:].rjust(padded, "0")
        text = f"{lead}{f'{i:03d} ' if counted else ''}{number}{says}{end}"
        frames.append(Frame(OWN, text.encode(), f"{value} {spelled}"))
        if rng.random() < 0.2:
            frames.append(Frame(OWN, f"BAT={rng.randrange(100)}%{end}".encode(), None))
    return Tool(f"text {lead}{number}{says} mark {mark!r}", tuple(frames))

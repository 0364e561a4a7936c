"""Which frames of a characteristic are of the measurement's kind, and which (status, heartbeat) are set aside.

A frame is judged by the octets around the number. One bit never seen beside a shown value does not set it aside: that
may be a flag. What does: another length, another octet before the number (a message kind), several octets that
differ from all that was known, or no number at all. Counters, check sums and batteries may change.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from .capture import Seen

FEW = 4
"""Different values of an octet up to which it may be a message kind or flags, rather than a count."""
BATTERY = range(1, 101)


@dataclass(frozen=True, slots=True)
class Around:
    """The octets around a number, over the frames that are taken for measurements."""

    before: int
    """Where the number begins."""
    own: frozenset[int]
    """The octets of the number."""


def drifting(values: Sequence[int], *, beside_changing: bool) -> bool:
    """Say whether an octet changes through time as a battery level does, or as the upper octet of a count does."""
    steps = [b - a for a, b in pairwise(values) if a != b]
    if not steps:
        return False
    falls = all(-3 <= step < 0 for step in steps) and all(value in BATTERY for value in values)
    counts = beside_changing and (all(0 < step % 256 <= 2 for step in steps))
    return falls or counts


def is_counter(values: Sequence[int]) -> bool:
    """Say whether an octet counts frames: each time the same small step further, modulo 256."""
    steps = {(b - a) % 256 for a, b in pairwise(values)}
    return len(values) > 2 and len(steps) == 1 and 0 < next(iter(steps)) < 16


@dataclass(frozen=True, slots=True)
class Sorted:
    """The frames of a characteristic by their places."""

    measured: frozenset[int]
    """Measurements."""
    odd: frozenset[int]
    """Of their kind, but with a number that cannot be."""
    doubtful: frozenset[int]
    """Measurements with bits never seen beside a shown value."""


def measurements(frames: Sequence[Seen], around: Around, plausible: Callable[[Seen], bool]) -> Sorted:
    """Sort the frames of a characteristic; `plausible` says whether the number of a frame can be."""
    lengths = {len(each.octets) for each in frames if each.shown is not None}
    same = [i for i, each in enumerate(frames) if len(each.octets) in lengths]
    accepted = {i for i in same if frames[i].shown is not None}
    told = [each.octets for each in frames if each.shown is not None]
    view = _View([frames[i].octets for i in same], told, around)
    while True:
        test = view.test([frames[i].octets for i in accepted])
        more = {i for i in same if i not in accepted and test.alike(frames[i].octets)}
        if not more:
            break
        accepted |= more
    odd = {i for i in accepted if frames[i].shown is None and not plausible(frames[i])}
    view = _View([frames[i].octets for i in sorted(accepted - odd)], told, around)
    test = view.test(told)
    doubtful = {i for i in accepted - odd if test.has_new_bits(frames[i].octets)}
    return Sorted(frozenset(accepted - odd), frozenset(odd), frozenset(doubtful))


def _many(column: Sequence[int]) -> bool:
    """Say whether an octet takes more values than a message kind or a few flags would."""
    return len(set(column)) > FEW and changed_bits([bytes([octet]) for octet in set(column)], 0).bit_count() > 3


class _View:
    """What all frames of one length tell of each octet."""

    def __init__(self, frames: Sequence[bytes], known: Sequence[bytes], around: Around) -> None:
        self._around = around
        self._size = min((len(frame) for frame in frames), default=0)
        columns = self._columns(frames, known)
        self._many = [_many(column) for column in columns]
        changing = [len(set(column)) > 1 for column in columns]
        self._drifts = [
            is_counter(column) or drifting(column, beside_changing=self._beside(at, changing))
            for at, column in enumerate(columns)
        ]

    def _columns(self, frames: Sequence[bytes], known: Sequence[bytes]) -> list[list[int]]:
        """Return each octet of the frames that are as the known ones in all other octets before the number."""
        marks = [at for at in range(min(self._size, self._around.before)) if not changed_bits(known, at)]
        columns: list[list[int]] = [[] for _ in range(self._size)]
        for frame in frames:
            differ = [at for at in marks if frame[at] != known[0][at]]
            for at in range(self._size) if not differ else differ if len(differ) == 1 else ():
                columns[at].append(frame[at])
        return columns

    def _beside(self, at: int, changing: Sequence[bool]) -> bool:
        near = [other for other in (at - 1, at + 1) if 0 <= other < self._size and other not in self._around.own]
        return any(changing[other] for other in near)

    def test(self, known: Sequence[bytes]) -> "_Test":
        """Return the test of frames against known ones."""
        cares = bytes(self._cares(at, known) for at in range(self._size))
        return _Test(known[0][: self._size], cares, self._many, self._around.before)

    def _cares(self, at: int, known: Sequence[bytes]) -> int:
        """Return the bits of an octet that are the same in all known frames, and not those of a number or a count."""
        if at in self._around.own or self._drifts[at]:
            return 0
        changed = changed_bits(known, at)
        return 0 if changed.bit_count() > 2 or (changed and self._many[at]) else 0xFF & ~changed


@dataclass(frozen=True, slots=True)
class _Test:
    """What a frame is held against: the octets that do not change in known frames."""

    like: bytes
    cares: bytes
    many: Sequence[bool]
    before: int

    def _new(self, frame: bytes) -> list[tuple[int, int]]:
        """Return the octets with bits that no known frame has, and these bits."""
        size = min(len(self.like), len(frame))
        whole = int.from_bytes(frame[:size], "big") ^ int.from_bytes(self.like[:size], "big")
        new = (whole & int.from_bytes(self.cares[:size], "big")).to_bytes(size, "big")
        return [(at, bits) for at, bits in enumerate(new) if bits] if any(new) else []

    def alike(self, frame: bytes) -> bool:
        """Say whether the octets around the number are those of a measurement."""
        strong = weak = 0
        for at, bits in self._new(frame):
            if bits.bit_count() == 1 or self.many[at]:
                weak += 1
            elif at < self.before:
                return False
            else:
                strong += 1
        return strong < 2 and strong + weak < 3 and not (strong and weak)

    def has_new_bits(self, frame: bytes) -> bool:
        """Say whether a frame has bits that no known one has, other than those of a count."""
        return any(not self.many[at] for at, _ in self._new(frame))


def changed_bits(frames: Iterable[bytes], at: int) -> int:
    """Return the bits of an octet that are not the same in all these frames."""
    values = {frame[at] for frame in frames}
    first = next(iter(values))
    changed = 0
    for value in values:
        changed |= value ^ first
    return changed

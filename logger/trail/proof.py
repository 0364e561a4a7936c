"""What a look at a trail shows, and what it cannot show, in plain sentences."""

from dataclasses import dataclass
from pathlib import Path

from logger.errors import BadInput, TrailDamaged

from .anchor import Anchor, from_text
from .file import reader
from .head import behind, read_note
from .keys import fingerprint, holds
from .read import Verified, clock_jumps, verify
from .schema import meta_of, trail_id_of
from .seal import Signed, check_signatures, message

_MAGIC = b"SQLite format 3\0"
_MOST_RECORD = 64 << 20
"""Bytes: a larger file is no record."""


@dataclass(frozen=True, slots=True)
class Noted:
    """A head that was noted elsewhere, and where."""

    anchor: Anchor
    where: str


@dataclass(frozen=True, slots=True)
class Proof:
    """What was found."""

    verified: Verified
    shown: tuple[str, ...]
    not_shown: tuple[str, ...]
    wrong: tuple[str, ...]
    """Each thing that contradicts what was written or noted; empty when nothing does."""
    told: tuple[str, ...] = ()
    """What is no damage but should be known: the host's clock jumped, an earlier trail lay here."""


def noted(given: str) -> Noted:
    """Read what a trail is to be compared with: the path of a record, or a head; BadInput when it is neither."""
    path = Path(given)
    try:
        is_file = path.is_file()
    except (OSError, ValueError):
        is_file = False
    if not is_file:
        if given.endswith(".json") or "/" in given:
            raise BadInput(f"There is no record {given}.", "Name a JSON record, or a head in words.")
        return Noted(from_text(given), "the head given")
    try:
        with path.open("rb") as file:
            data = file.read(_MOST_RECORD + 1)
    except OSError as error:
        raise BadInput(f"{given} cannot be read: {error.strerror}.", "Name a JSON record.") from error
    if len(data) > _MOST_RECORD:
        raise BadInput(f"{given} is too large for a record.", "Name a JSON record.")
    from .anchorfile import from_record  # noqa: PLC0415  (late on purpose: it brings models, which no other check needs)

    return Noted(from_record(data, given), given)


def prove(path: Path, against: Noted | None = None, own_key: bytes = b"") -> Proof:
    """Check a trail whole: its chain, its signatures, and the head noted elsewhere; BadInput when there never was one.

    `own_key` is the public key of this bench, empty where there is none.
    """
    _not_gone(path)
    verified, signed = verify(path), check_signatures(path)
    compared, contradiction = _compare(path, verified, against)
    wrong = tuple(
        text for text in (verified.damaged(), f"{_upper(signed.wrong)}." if signed.wrong else "", contradiction) if text
    )
    shown = (*((verified.shown(),) if verified.sound else ()), *_signatures(signed, own_key), *compared)
    return Proof(verified, shown, _not_shown(verified, signed, against), wrong, _told(path))


def _not_gone(path: Path) -> None:
    """TrailDamaged where a note tells of a trail, but no trail lies beside it."""
    note = read_note(path)
    if note is None:
        return
    try:
        with path.open("rb") as file:
            is_there = file.read(len(_MAGIC)) == _MAGIC
    except FileNotFoundError:
        is_there = False
    except OSError:  # the look at the trail itself tells why
        return
    if not is_there:
        raise TrailDamaged(
            f"No trail lies at {path} any more: it had reached event {note.seq}.",
            "Keep what is there aside, and put a backup or the shop's copy in its place.",
        )


def _compare(path: Path, verified: Verified, against: Noted | None) -> tuple[tuple[str, ...], str]:
    """Return what a noted head shows, and in what the trail contradicts it."""
    if against is None:
        return (), ""
    anchor = against.anchor
    if anchor.signature and not holds(anchor.key, message(anchor.trail, anchor.seq, anchor.hash), anchor.signature):
        return (), f"The signature on {against.where} does not hold: its head was changed after it was signed."
    with reader(path) as connection:
        gone = behind(connection, verified.trail, anchor)
    if gone:
        return (), f"It is not the trail that {against.where} speaks of: {gone}."
    part = "" if len(anchor.hash) == 32 else " (by the first 64 bits of its hash)"
    by = f" {against.where} is signed by the key {fingerprint(anchor.key)}." if anchor.signature else ""
    return (
        f"it holds event {anchor.seq} as noted on {against.where}{part}: up to there nothing was cut off, "
        f"and nothing written anew.{by}",
    ), ""


def _signatures(signed: Signed, own_key: bytes) -> tuple[str, ...]:
    if not signed.count:
        return ()
    names = ", ".join(
        f"{fingerprint(key)} ({'this bench' if key == own_key else 'not the key of this bench'})" for key in signed.keys
    )
    many = f"{signed.count} signatures hold" if signed.count > 1 else "1 signature holds"
    return (f"{many}, the last over event {signed.last}, by the key {names}.",)


def _not_shown(verified: Verified, signed: Signed, against: Noted | None) -> tuple[str, ...]:
    compare = "evenhand verify --against RECORD, or the head in words from a page"
    if against is None:
        end = f"that its end was not cut off, and that it was not written anew as a whole; compare with: {compare}."
    else:
        end = f"that nothing after event {against.anchor.seq} was cut off or written anew; a later record shows more."
    key = "that the key was used by this bench alone: it lies on the same machine." if signed.count else ""
    unsigned = "" if signed.count or not verified.count else "who wrote it: no signature is on it."
    truth = "that what was entered is true, and that the host's clock was right."
    return tuple(text for text in (end, key, unsigned, truth) if text)


def _told(path: Path) -> tuple[str, ...]:
    with reader(path) as connection:
        follows, trail = meta_of(connection, "follows"), trail_id_of(connection)
    before = from_text(follows) if follows else None
    earlier = (
        (f"This trail ({trail}) follows an earlier one ({before.trail}), which had reached event {before.seq}.",)
        if before
        else ()
    )
    return (*earlier, *(each.sentence() for each in clock_jumps(path)))


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]

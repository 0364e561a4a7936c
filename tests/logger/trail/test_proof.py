"""What `verify` says: shown, not shown, wrong; a cut end and a rewrite that a chain alone misses."""

import json
import shutil
from pathlib import Path

import pytest

from logger.errors import BadInput, TrailDamaged
from logger.trail.anchor import Anchor, as_text
from logger.trail.head import note_path
from logger.trail.keys import BenchKey, fingerprint
from logger.trail.proof import Noted, noted, prove
from logger.trail.read import read, verify
from logger.trail.seal import Seal
from logger.trail.trail import Trail

from .appended import append_now
from .forger import END, alter, write_anew


@pytest.fixture
def path(tmp_path: Path, key: BenchKey) -> Path:
    found = tmp_path / "trail.sqlite"
    with Trail.open(found, seal=lambda: Seal(key)) as trail:
        for n in range(1, 31):
            append_now(trail, {"job": "j1", "n": n} if n % 10 else END)
    return found


def head_at(path: Path, seq: int) -> Anchor:
    (event,) = [each for each in read(path) if each.seq == seq]
    return Anchor(seq, event.hash, verify(path).trail)


def record(path: Path, seq: int, key: BenchKey | None = None) -> bytes:
    anchor = head_at(path, seq)
    head = {"trail": anchor.trail, "seq": seq, "sha256": anchor.hash.hex()}
    if key is not None:
        public, signature = Seal(key).sign(anchor.trail, seq, anchor.hash)
        head |= {"key": public.hex(), "signature": signature.hex()}
    return json.dumps({"format": "evenhand-record", "head": head}).encode()


def cut(path: Path) -> None:
    """Take the last events and everything that speaks of them, as a person would who knows the file."""
    alter(path, *(f"DELETE FROM {table} WHERE seq > 15" for table in ("events", "job_events", "signatures")))
    note_path(path).unlink()


def rewrite(path: Path, key: BenchKey) -> None:
    """Write all of it anew and sign it again: the key lies on the same machine."""
    trail = verify(path).trail
    write_anew(path, trail, 30)
    alter(path, "DELETE FROM signatures")
    head = head_at(path, 30)
    public, signature = Seal(key).sign(trail, 30, head.hash)
    alter(path, f"INSERT INTO signatures VALUES (30, x'{head.hash.hex()}', x'{public.hex()}', x'{signature.hex()}')")
    note_path(path).unlink()


def test_a_whole_trail_says_what_it_shows_and_what_it_cannot(path: Path, key: BenchKey) -> None:
    proof = prove(path, None, key.public)
    assert proof.wrong == proof.told == ()
    assert proof.shown[0].startswith("all 30 events are sound")
    assert proof.shown[1] == (
        f"3 signatures hold, the last over event 30, by the key {fingerprint(key.public)} (this bench)."
    )
    assert "its end was not cut off" in proof.not_shown[0]
    assert "--against" in proof.not_shown[0]
    assert "lies on the same machine" in proof.not_shown[1]
    assert "what was entered is true" in proof.not_shown[-1]


def test_a_key_that_is_not_this_bench_is_told(path: Path) -> None:
    assert "not the key of this bench" in prove(path).shown[1]


@pytest.mark.parametrize("seq", [1, 20, 30])
@pytest.mark.parametrize("form", ["words", "text", "record", "signed record"])
def test_a_noted_head_is_held_against_it(path: Path, tmp_path: Path, key: BenchKey, seq: int, form: str) -> None:
    anchor = head_at(path, seq)
    (tmp_path / "r.json").write_bytes(record(path, seq, key if form.startswith("signed") else None))
    given = {"words": anchor.words, "text": as_text(anchor)}.get(form, str(tmp_path / "r.json"))
    proof = prove(path, noted(given))
    assert proof.wrong == ()
    assert f"it holds event {seq} as noted on" in proof.shown[2]
    assert ("is signed by the key" in proof.shown[2]) is (form == "signed record")
    assert ("first 64 bits" in proof.shown[2]) is (form == "words")
    assert f"nothing after event {seq} was cut off" in proof.not_shown[0]


def test_a_cut_end_is_missed_by_the_chain_and_caught_by_a_noted_head(path: Path, key: BenchKey) -> None:
    anchor = head_at(path, 30)
    cut(path)
    assert prove(path, None, key.public).wrong == ()
    for given in (anchor.words, as_text(anchor)):
        proof = prove(path, noted(given), key.public)
        assert proof.wrong == (
            "It is not the trail that the head given speaks of: it ends at event 15, but had reached event 30: "
            "its end is gone.",
        )


def test_a_rewrite_is_missed_by_chain_and_signature_and_caught_by_a_noted_head(path: Path, key: BenchKey) -> None:
    anchor = head_at(path, 20)
    rewrite(path, key)
    assert prove(path, None, key.public).wrong == ()
    for given in (anchor.words, as_text(anchor)):
        assert "written anew, at that event or before it" in prove(path, noted(given), key.public).wrong[0]


def test_a_head_of_another_trail_is_told(path: Path, tmp_path: Path) -> None:
    other = tmp_path / "other" / "trail.sqlite"
    with Trail.open(other) as trail:
        append_now(trail, {"n": 1})
    assert "this is another trail" in prove(path, Noted(head_at(other, 1), "r.json")).wrong[0]


def test_a_record_whose_head_was_changed_is_told(path: Path, tmp_path: Path, key: BenchKey) -> None:
    changed = record(path, 20, key).replace(b'"seq": 20', b'"seq": 10')
    (tmp_path / "r.json").write_bytes(changed)
    proof = prove(path, noted(str(tmp_path / "r.json")))
    assert "does not hold: its head was changed" in proof.wrong[0]


def test_damage_is_told_before_what_is_sound(path: Path) -> None:
    alter(path, "UPDATE events SET bytes = zeroblob(9) WHERE seq = 7")
    proof = prove(path)
    assert proof.wrong == ("Event 7: its bytes are not what was hashed. The 6 events before it are sound.",)
    assert not proof.shown[0].startswith("all")


@pytest.mark.parametrize("left", [None, b"", b"hello\n" * 900])
def test_a_trail_that_is_gone_is_damage_where_a_note_tells_of_it(path: Path, left: bytes | None) -> None:
    reached = verify(path).head_seq
    path.unlink()
    if left is not None:
        path.write_bytes(left)
    with pytest.raises(TrailDamaged, match=f"had reached event {reached}"):
        prove(path)
    note_path(path).unlink()
    with pytest.raises(BadInput):
        prove(path)


def test_an_empty_trail_shows_nothing(tmp_path: Path) -> None:
    Trail.open(tmp_path / "trail.sqlite").close()
    assert prove(tmp_path / "trail.sqlite").shown == ("it holds no events.",)


def test_the_clock_and_an_earlier_trail_are_told(tmp_path: Path) -> None:
    path = tmp_path / "trail.sqlite"
    with Trail.open(path) as trail:
        append_now(trail, {"job": "j1"})
    path.rename(tmp_path / "aside.sqlite")
    with Trail.open(path) as trail:
        for utc, mono in (("12:00:00", 0), ("11:00:10", 10), ("14:00:10", 20)):
            stamp = f"2026-03-01T{utc}.000000Z"
            append_now(trail, {"job": "j1", "utc": stamp, "mono_us": mono * 10**6, "boot": "a"})
    earlier, back, ahead = prove(path).told
    assert "follows an earlier one" in earlier
    assert "Between events 1 and 2 the host's clock was put back, by 1 h" in back
    assert "Between events 2 and 3 the host slept, or its clock was put forward, by 2 h 59 min 50 s" in ahead


@pytest.mark.parametrize(
    ("given", "says"),
    [("nowhere.json", "There is no record"), ("a/b", "There is no record"), ("41 acorn", "one number"), ("\0", "one")],
)
def test_what_is_neither_record_nor_head(given: str, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        noted(given)


def test_a_file_that_is_too_large_is_no_record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("logger.trail.proof._MOST_RECORD", 10)
    (tmp_path / "r.json").write_bytes(b"x" * 11)
    with pytest.raises(BadInput, match="too large"):
        noted(str(tmp_path / "r.json"))


def test_a_copy_of_the_file_proves_the_same(path: Path, tmp_path: Path) -> None:
    copy = Path(shutil.copy(path, tmp_path / "copy.sqlite"))
    assert prove(copy).shown == prove(path).shown

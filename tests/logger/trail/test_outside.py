"""The trail checked from outside: by a shell script that shares no line with the program."""

import shutil
import subprocess
from pathlib import Path

import pytest

from logger.trail.canonical import encode
from logger.trail.keys import bench_key
from logger.trail.read import verify
from logger.trail.seal import Seal
from logger.trail.trail import Trail

from .appended import append_now
from .forger import END, alter, rehash

TOOLS = ("sh", "sqlite3", "openssl", "jq", "basenc")
LACKING = [tool for tool in TOOLS if shutil.which(tool) is None]
pytestmark = pytest.mark.skipif(bool(LACKING), reason=f"not installed: {', '.join(LACKING)}")
SCRIPT = Path(__file__).with_name("verify.sh")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    found, key = tmp_path / "trail.sqlite", bench_key(tmp_path / "bench.key")
    with Trail.open(found, seal=lambda: Seal(key)) as trail:
        for n in range(1, 12):
            event = {"kind": "reading_taken", "text": f"{n}.50", "unit": "N·m", "by": 'Jose\u0301 "<|>\\\t\n'}
            append_now(trail, {"v": 1, "job": "j1", "event": event} if n % 5 else END)
    return found


def check(path: Path) -> tuple[int, str]:
    ran = subprocess.run(["sh", SCRIPT, path], capture_output=True, text=True)
    return ran.returncode, ran.stdout.strip()


def test_the_script_finds_the_same_head(path: Path) -> None:
    assert check(path) == (0, f"11 {verify(path).head_hash.upper()}")


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE events SET bytes = replace(bytes, '3.50', '3.40') WHERE seq = 3", "event 3 is not what was hashed"),
        ("DELETE FROM events WHERE seq = 7", "event 7 does not follow"),
        ("UPDATE events SET prev = zeroblob(32) WHERE seq = 9", "event 9 does not follow"),
        ("DELETE FROM events WHERE seq > 8", "signed event 10 is gone"),
        ("UPDATE signatures SET signature = zeroblob(64) WHERE seq = 10", "the signature over event 10 does not hold"),
    ],
)
def test_the_script_finds_what_was_changed(path: Path, statement: str, says: str) -> None:
    alter(path, statement)
    assert check(path) == (1, says)


OTHER_FORMS = (b'{"job":"j1", "seq":11}', b'{"seq":11,"job":"j1"}', encode({"job": "j1", "seq": 12}))


@pytest.mark.parametrize("data", OTHER_FORMS)
def test_the_script_finds_what_is_not_canonical(path: Path, data: bytes) -> None:
    rehash(path, 11, data)
    assert check(path) == (1, "event 11 is not canonical")

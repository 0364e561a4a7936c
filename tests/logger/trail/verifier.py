"""A verifier of a trail in a few lines that shares no code with the program's."""

import contextlib
import hashlib
import json
import sqlite3
from pathlib import Path


def holds(path: Path) -> bool:
    """Verify a trail with nothing but the standard library."""
    with contextlib.closing(sqlite3.connect(path)) as db:
        (trail,) = db.execute("SELECT value FROM meta WHERE key = 'trail'").fetchone()
        head = hashlib.sha256(b"evenhand-trail-1\n" + trail.encode()).digest()
        rows = db.execute("SELECT seq, prev, hash, bytes FROM events ORDER BY seq").fetchall()
    for place, (seq, prev, own, data) in enumerate(rows, 1):
        if not (isinstance(prev, bytes) and isinstance(own, bytes) and isinstance(data, bytes)):
            return False
        hashed = hashlib.sha256(b"evenhand-trail-1\n" + prev + data).digest()
        if (seq, prev, own) != (place, head, hashed):
            return False
        record = json.loads(data)
        canonical = json.dumps(record, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
        if (record["seq"], canonical) != (place, data):
            return False
        head = own
    return True

"""The rows of the index: how their documents are guarded and read back."""

import sqlite3
from collections.abc import Iterable, Iterator
from hashlib import sha256

from logger.program import PROGRAM

from .sums import JobSum

FORM = f"2 {PROGRAM}"
"""The form of the documents; an index of another one is made anew."""


class SpoiledError(Exception):
    """The index does not read back as it was written."""


def sum_of(doc: str) -> bytes:
    """Return what stands beside a document, so that it shows when it does not read back as it was written."""
    return sha256(f"{FORM}\n{doc}".encode()).digest()[:8]


def sound(rows: Iterable[tuple[str, bytes]]) -> Iterator[str]:
    """Give the documents of rows; SpoiledError where one is not what was written."""
    for doc, found in rows:
        if not isinstance(doc, str) or sum_of(doc) != found:
            raise SpoiledError
        yield doc


def jobs_of(db: sqlite3.Connection, machine: str) -> list[JobSum]:
    """Return the jobs of a machine, by its name as it is compared, oldest first."""
    rows = db.execute("SELECT doc, sum FROM jobs WHERE machine = ? ORDER BY first", (machine,))
    return [JobSum.model_validate_json(doc) for doc in sound(rows)]

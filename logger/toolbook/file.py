"""The toolbook on the disk: HOME/toolbook.toml, readable by a person, replaced as a whole or not at all."""

import contextlib
import fcntl
import json
import os
import secrets
import tomllib
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import tomli_w
from pydantic import ValidationError

from drivers.tomlbounds import Bounds
from logger.errors import BadInput, NotStored

from .toolbook import Toolbook

MAX_OCTETS = 512 * 1024
MAX_LINES, MAX_LINE, MAX_DOTS = 8000, 1200, 8
MAX_SAID = 60
"""Characters of a key, a value or a tool's id that are said again where something is wrong."""
_BOUNDS = Bounds(MAX_LINES, MAX_LINE, MAX_DOTS)
_HEAD = """\
# The tools of this bench. Written by: evenhand tools add, evenhand tools retire.
# What is stated of a tool (accuracy, due, certificate ...) may be changed by hand; a retired tool is kept.

"""


def read_toolbook(path: Path) -> Toolbook:
    """Read a toolbook, an empty one where there is no file; BadInput says which key of which tool is wrong."""
    try:
        with path.open("rb") as file:
            octets = file.read(MAX_OCTETS + 1)
        text = octets.decode("utf-8")
    except FileNotFoundError:
        return Toolbook()
    except UnicodeDecodeError:
        raise BadInput(f"The toolbook {path} is not UTF-8 text.", "Save it as UTF-8.") from None
    except OSError as error:
        raise BadInput(f"The toolbook {path} cannot be read: {error.strerror}.", "Check who may read it.") from error
    if len(octets) > MAX_OCTETS:
        raise BadInput(f"The toolbook {path} is larger than {MAX_OCTETS >> 10} KiB.", "It is not one; take it aside.")
    return parse_toolbook(text, str(path))


def parse_toolbook(text: str, where: str) -> Toolbook:
    """Read a toolbook from TOML text; BadInput names `where`, the key and what is wrong with it."""
    if beyond := _BOUNDS.broken_by(text):
        raise BadInput(f"{where}: {beyond}.", "Repair it, or take it aside.")
    tree: dict[str, object] = {}
    try:
        tree = tomllib.loads(text)
        # strict JSON is the one mode of pydantic that takes arrays for tuples
        return Toolbook.model_validate_json(json.dumps(tree, allow_nan=False, default=_day))
    except tomllib.TOMLDecodeError as error:
        raise BadInput(f"{where} is not TOML: {error}.", "Write one key = value on a line.") from None
    except ValidationError as error:
        raise BadInput(f"{where}: {_first(error, tree)}", "Repair it, or restore a copy.") from None
    except (TypeError, ValueError, RecursionError) as error:
        raise BadInput(f"{where} holds a value that no toolbook has: {error}.", "Repair it.") from None


def _day(value: object) -> str:
    if type(value) is date:  # a bare TOML date means the same as its text
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} found where text belongs")


def _first(error: ValidationError, tree: dict[str, object]) -> str:
    """Tell the first problem: a tool is named by its id, counted where it has none."""
    found = error.errors(include_url=False)[0]
    place = [str(part)[:MAX_SAID] for part in found["loc"]]
    if place[:1] == ["tool"] and len(place) > 1:
        number = int(place[1])
        entries = tree.get("tool")
        entry = entries[number] if isinstance(entries, list) else None
        name = entry.get("id") if isinstance(entry, dict) else None
        place[:2] = [f"tool {name[:MAX_SAID]}" if isinstance(name, str) else f"[[tool]] number {number + 1}"]
    given = f", found {str(found['input'])[:MAX_SAID]!r}" if found["type"].startswith(("string", "literal")) else ""
    said = found["msg"].removeprefix("Value error, ")
    return f"{', '.join(place) or 'the file'}: {said}{given}."


def write_toolbook(path: Path, book: Toolbook) -> None:
    """Replace the toolbook on the disk, for its owner's eyes only; NotStored when it did not get there."""
    draft = path.with_name(f"{path.name}.{secrets.token_hex(4)}")
    text = _HEAD + tomli_w.dumps({"format": book.format} | book.model_dump(exclude_defaults=True))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            with open(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:  # noqa: PTH123
                file.write(text.encode())
                file.flush()
                os.fsync(file.fileno())
            draft.replace(path)
        finally:
            draft.unlink(missing_ok=True)
        _settle(path.parent)
    except OSError as error:
        raise NotStored(f"The toolbook {path} cannot be written: {error.strerror}.", "Check the folder.") from error


def _settle(folder: Path) -> None:
    """Bring the renaming itself to the disk."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def change_toolbook(path: Path, change: Callable[[Toolbook], Toolbook]) -> Toolbook:
    """Read, change and write the toolbook while no other process does; return the new one."""
    with _alone(path):
        book = change(read_toolbook(path))
        write_toolbook(path, book)
        return book


@contextlib.contextmanager
def _alone(path: Path) -> Iterator[None]:
    """Hold the system's lock beside the toolbook; its file stays, since removing it would make two locks of one."""
    lock = path.with_name(f"{path.name}.lock")
    try:
        lock.parent.mkdir(parents=True, exist_ok=True)
        descriptor = os.open(lock, os.O_RDWR | os.O_CREAT, 0o600)
    except OSError as error:
        raise NotStored(f"The toolbook {path} cannot be changed: {error.strerror}.", "Check the folder.") from error
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)

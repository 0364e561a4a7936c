"""Where sheets come from: the shipped ones, and files of one's own."""

from importlib import resources
from pathlib import Path

from logger.errors import BadInput

from .file import MAX_BYTES, Loaded, load_sheet
from .problems import legible, nearest

_SHEETS = resources.files(__package__)
_SUFFIX = ".toml"


def shipped() -> tuple[str, ...]:
    """Return the names of the shipped sheets, sorted."""
    names = (entry.name for entry in _SHEETS.iterdir() if entry.is_file())
    return tuple(sorted(name.removesuffix(_SUFFIX) for name in names if name.endswith(_SUFFIX)))


def shipped_text(name: str) -> bytes:
    """Return the bytes of a shipped sheet; BadInput when there is none of that name."""
    known = shipped()
    if name not in known:
        raise BadInput(
            f"No shipped sheet is called {legible(name)!r}{nearest(name, known)}.",
            f"Shipped are: {', '.join(known)}; a sheet of your own is named by its path, such as ./{name[:32]}.toml.",
        )
    return (_SHEETS / f"{name}{_SUFFIX}").read_bytes()


def open_sheet(name: str) -> Loaded:
    """Load a shipped sheet by its name, or a file by its path; BadInput says why it cannot be used."""
    if not name.endswith(_SUFFIX) and not any(mark in name for mark in "/\\"):
        return load_sheet(shipped_text(name), f"{name}{_SUFFIX}")
    path = Path(name)
    return load_sheet(_read(path), path.name)


def sheet_named(own: Path, name: str) -> Loaded:
    """Load a shipped sheet by its name, one in `own` by that of its file, or a file by its path; else BadInput."""
    path = own / f"{name}{_SUFFIX}"
    is_name = not name.endswith(_SUFFIX) and not any(mark in name for mark in "/\\")
    return open_sheet(str(path) if is_name and name not in shipped() and path.is_file() else name)


def own_sheets(folder: Path) -> tuple[str, ...]:
    """Return the paths of the sheet files in a folder of one's own, sorted; none where there is no such folder."""
    try:
        return tuple(str(path) for path in sorted(folder.glob(f"*{_SUFFIX}")) if path.is_file())
    except OSError:
        return ()


def _read(path: Path) -> bytes:
    """Read a file, but no more of it than could be a sheet (a device never ends)."""
    try:
        if not path.is_file():
            raise BadInput(f"There is no sheet file {legible(str(path))}.", f"Shipped are: {', '.join(shipped())}.")
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"The sheet {legible(str(path))} cannot be read: {legible(why)}.", "Check its path.") from error

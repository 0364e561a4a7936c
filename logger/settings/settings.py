"""Where data lives: one home folder, with the trail and whatever else a bench keeps."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from logger.errors import BadInput

HOME_VARIABLE = "EVENHAND_HOME"


@dataclass(frozen=True, slots=True)
class Home:
    """The home folder; nothing is created before something is written."""

    folder: Path

    @property
    def trail(self) -> Path:
        """The trail of this bench."""
        return self.folder / "trail.sqlite"

    @property
    def toolbook(self) -> Path:
        """The tools of this bench."""
        return self.folder / "toolbook.toml"

    @property
    def profiles(self) -> Path:
        """Where profiles of one's own lie, one a file."""
        return self.folder / "profiles"

    @property
    def sheets(self) -> Path:
        """Where sheets of one's own lie, one a file."""
        return self.folder / "sheets"

    @property
    def key(self) -> Path:
        """The private key that signs the head of the trail."""
        return self.folder / "bench.key"

    @property
    def log(self) -> Path:
        """What went wrong beside the job (a radio that failed), for whoever repairs the program."""
        return self.folder / "evenhand.log"

    def crash_file(self, stamp: str) -> Path:
        """Where the account of a crash at `stamp` (UTC, digits and letters only) goes."""
        return self.folder / f"crash-{stamp}.txt"


def expanded(named: str) -> Path:
    """Return a path as a person wrote it, with `~` put in; BadInput where it can be no path of this machine."""
    try:
        if b"\0" in os.fsencode(named):
            raise BadInput("A path holds the character NUL.", "Write a path without it.")
        return Path(named).expanduser()
    except UnicodeEncodeError:
        raise BadInput("A path holds half of a surrogate pair.", "Write a path without it.") from None
    except RuntimeError:
        raise BadInput(f"{named[:80]} begins with ~ and no user of this machine.", "Write the whole path.") from None


def home_folder(given: str | None, environment: Mapping[str, str]) -> Home:
    """Return the home: `given`, else EVENHAND_HOME, else the platform's data folder; BadInput when it is no folder."""
    named = given if given is not None else environment.get(HOME_VARIABLE) or None
    if named is None:
        import platformdirs  # noqa: PLC0415  (late on purpose: whoever names a folder need not wait for it)

        return Home(platformdirs.user_data_path("evenhand", appauthor=False))
    if not named.strip() or "\0" in named:
        raise BadInput("The home folder has no name.", f"Give one with --home DIR or {HOME_VARIABLE}.")
    folder = expanded(named).absolute()
    try:
        is_other = folder.exists() and not folder.is_dir()
    except OSError as error:  # a name that is too long, or a folder that may not be entered
        raise BadInput(f"{folder} cannot be used: {error.strerror}.", "Name a folder with --home DIR.") from error
    if is_other:
        raise BadInput(f"{folder} is not a folder.", "Name a folder with --home DIR.")
    return Home(folder)

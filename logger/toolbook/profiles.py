"""Where profiles come from: those of one's own in HOME/profiles, then the shipped ones."""

from pathlib import Path

from drivers.profile.file import read_profile, shipped_profiles
from drivers.profile.profile import ProfileError, ToolProfile
from logger.errors import BadInput

_SUFFIX = ".toml"


def profiles_of(folder: Path) -> tuple[ToolProfile, ...]:
    """Return the profiles in a folder (which need not exist) and the shipped ones; BadInput on one that is none."""
    own = tuple(_read(path) for path in sorted(folder.glob(f"*{_SUFFIX}")))
    names = {each.profile for each in own}
    if len(names) < len(own):
        raise BadInput(f"Two profiles in {folder} have one name.", "Give each its own: profile = ...")
    return (*own, *(each for each in shipped_profiles() if each.profile not in names))


def _read(path: Path) -> ToolProfile:
    try:
        return read_profile(path)
    except ProfileError as error:
        raise BadInput(f"{path.parent}: {error}", f"Look at it with: evenhand tools profile check {path}") from error


def profile_path(folder: Path, name: str) -> Path:
    """Return where a profile of one's own of this name lies."""
    return folder / f"{name}{_SUFFIX}"

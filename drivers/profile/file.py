"""Files of profiles: one of a person's own, and those that come with the program."""

from pathlib import Path

from .profile import MAX_PROFILE_OCTETS, ProfileError, ToolProfile, parse_profile, ranked

SHIPPED = Path(__file__).parent
"""They lie beside this file, as the shipped sheets lie beside theirs."""


def read_profile(path: Path) -> ToolProfile:
    """Read a profile file; ProfileError when it is missing, not UTF-8, or not a profile."""
    try:
        with path.open("rb") as file:
            octets = file.read(MAX_PROFILE_OCTETS + 1)
        return parse_profile(octets.decode("utf-8"), path.name)
    except OSError as error:
        raise ProfileError(f"{path} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise ProfileError(f"{path.name} is not UTF-8 text.") from None


def shipped_profiles() -> tuple[ToolProfile, ...]:
    """Return the profiles that come with the program, most specific first."""
    return ranked(read_profile(path) for path in sorted(SHIPPED.glob("*.toml")))

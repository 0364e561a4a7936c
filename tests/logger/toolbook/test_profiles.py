"""Profiles of one's own beside the shipped ones."""

from pathlib import Path

import pytest

from drivers.profile.file import shipped_profiles
from logger.errors import BadInput
from logger.toolbook.profiles import profile_path, profiles_of

OWN = 'profile="{}"\nkind="caliper"\n[recognise]\nname="^Own"\n[[values]]\ndecode="described"\nrole="reading"\n'


def test_without_a_folder_there_are_the_shipped_ones(tmp_path: Path) -> None:
    assert profiles_of(tmp_path / "profiles") == shipped_profiles()


def test_ones_own_comes_first_and_replaces_a_shipped_one_of_its_name(tmp_path: Path) -> None:
    profile_path(tmp_path, "own").write_text(OWN.format("own"))
    profile_path(tmp_path, "sig-tape").write_text(OWN.format("sig-tape"))
    found = profiles_of(tmp_path)
    assert [each.profile for each in found[:2]] == ["own", "sig-tape"]
    assert found[1].recognise.name == "^Own"
    assert len(found) == len(shipped_profiles()) + 1


def test_one_that_is_none_is_told_with_its_place(tmp_path: Path) -> None:
    profile_path(tmp_path, "own").write_text("kind = 1")
    with pytest.raises(BadInput, match=r"own.toml: .* tools profile check"):
        profiles_of(tmp_path)
    profile_path(tmp_path, "own").write_text(OWN.format("same"))
    profile_path(tmp_path, "other").write_text(OWN.format("same"))
    with pytest.raises(BadInput, match="have one name"):
        profiles_of(tmp_path)

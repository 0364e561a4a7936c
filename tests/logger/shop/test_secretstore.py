"""A shop's secrets: in the file of mode 600, or in the keyring; the real library over a keyring in memory."""

import sys
from collections.abc import Iterator
from pathlib import Path

import keyring
import pytest
from keyring.backend import KeyringBackend
from keyring.errors import KeyringLocked
from pydantic import SecretStr

from logger.errors import BadInput
from logger.settings.file import ShopSettings
from logger.shop.secretstore import SERVICE, STORE_SERVICE, password_of, store_url_of

KEPT = ShopSettings(name="depot", bench="bay-2", secrets="keyring")


class Memory(KeyringBackend):
    """A keyring that is gone with the test."""

    priority = 1.0

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]
        self.kept: dict[tuple[str, str], str] = {}
        self.is_locked = False

    def get_password(self, service: str, username: str) -> str | None:
        """Return what is kept."""
        if self.is_locked:
            raise KeyringLocked("hush-hush is what it holds")
        return self.kept.get((service, username))

    def set_password(self, service: str, username: str, password: str) -> None:
        """Keep it."""
        self.kept[service, username] = password


@pytest.fixture
def ring() -> Iterator[Memory]:
    before, made = keyring.get_keyring(), Memory()
    keyring.set_keyring(made)
    yield made
    keyring.set_keyring(before)


def test_the_keyring_gives_each_user_its_own_password(ring: Memory, tmp_path: Path) -> None:
    keyring.set_password(SERVICE, "depot/bay-2", "one")
    keyring.set_password(SERVICE, "depot/collector", "all")
    assert password_of(tmp_path, KEPT, "bay-2") == SecretStr("one")
    assert password_of(tmp_path, KEPT, "collector") == SecretStr("all")
    named = KEPT.model_copy(update={"user": "collector"})
    assert password_of(tmp_path, named, "bay-2") == SecretStr("all")
    assert list(tmp_path.iterdir()) == []


def test_the_url_of_the_database_may_be_in_the_keyring(ring: Memory, tmp_path: Path) -> None:
    assert store_url_of(tmp_path, KEPT) == SecretStr("")
    keyring.set_password(STORE_SERVICE, "depot", "postgresql://evenhand:hush@db/shop")
    assert store_url_of(tmp_path, KEPT) == SecretStr("postgresql://evenhand:hush@db/shop")


def test_without_the_setting_the_file_counts_and_the_keyring_is_not_asked(ring: Memory, tmp_path: Path) -> None:
    ring.is_locked = True
    file = tmp_path / "secrets.toml"
    file.write_text('password = "of-the-file"\nstore_url = "sqlite:///x"\n')
    file.chmod(0o600)
    assert password_of(tmp_path, ShopSettings(), "bay-2") == SecretStr("of-the-file")
    assert store_url_of(tmp_path, ShopSettings()) == SecretStr("sqlite:///x")


def test_a_keyring_without_the_password_says_how_to_put_it_there(ring: Memory, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"no password for depot/bay-2\..*keyring set evenhand depot/bay-2"):
        password_of(tmp_path, KEPT, "bay-2")
    certified = KEPT.model_copy(update={"certificate": "a.pem", "key": "a.key"})
    assert password_of(tmp_path, certified, "bay-2") == SecretStr("")


def test_a_locked_keyring_is_told_and_nothing_of_what_it_says(ring: Memory, tmp_path: Path) -> None:
    ring.is_locked = True
    with pytest.raises(BadInput, match="KeyringLocked") as told:
        password_of(tmp_path, KEPT, "bay-2")
    assert "hush" not in str(told.value)


def test_without_the_extra_it_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "keyring", None)
    with pytest.raises(BadInput, match=r"Install evenhand\[keyring\]"):
        password_of(tmp_path, KEPT, "bay-2")

"""Where a shop's secrets are: the file that only its owner may read, or the keyring of the operating system."""

from pathlib import Path

from pydantic import SecretStr

from logger.errors import BadInput
from logger.settings.file import ShopSettings, load_secrets

SERVICE = "evenhand"
"""The keyring's service under which passwords of the broker's users stand, as SHOP/USER."""
STORE_SERVICE = "evenhand-store"
"""The keyring's service under which the URL of the collector's database stands, as SHOP."""


def password_of(home: Path, shop: ShopSettings, user: str) -> SecretStr:
    """Return the password of a user at the broker; BadInput when it cannot be read, or the keyring has none.

    With a client certificate there need be none.
    """
    if shop.secrets == "file":
        return load_secrets(home).password
    account = f"{shop.name}/{shop.user or user}"
    found = _of_keyring(SERVICE, account)
    if not found and not shop.certificate:
        raise BadInput(f"The keyring has no password for {account}.", f"Run: keyring set {SERVICE} {account}")
    return SecretStr(found)


def store_url_of(home: Path, shop: ShopSettings) -> SecretStr:
    """Return the URL of the collector's database where it is kept as a secret; else empty."""
    if shop.secrets == "file":
        return load_secrets(home).store_url
    return SecretStr(_of_keyring(STORE_SERVICE, shop.name))


def _of_keyring(service: str, account: str) -> str:
    try:
        import keyring  # noqa: PLC0415  (an extra, and slow to load: only who asks for it pays)
        from keyring.errors import KeyringError  # noqa: PLC0415
    except ImportError as error:
        told = "[shop] secrets names the keyring, but what reads it is not installed."
        raise BadInput(told, "Install evenhand[keyring], or write secrets.toml.") from error
    try:
        return keyring.get_password(service, account) or ""
    except KeyringError as error:
        told = f"The keyring cannot be read: {type(error).__name__}."
        raise BadInput(told, 'Unlock it, or set [shop] secrets = "file" and write secrets.toml.') from error

"""What a home's settings.toml may say, and the file beside it that holds secrets; everything in it may be absent."""

import difflib
import stat
import tomllib
from pathlib import Path
from typing import Annotated, Literal, TypeVar

from pydantic import Field, SecretStr, ValidationError, model_validator

from drivers.tomlbounds import Bounds
from logger.confined import BenchId, Confined
from logger.errors import BadInput

from .tables import KeySettings, RadioSettings

MOST_OCTETS = 64 * 1024
_BOUNDS = Bounds(lines=2000, line=1000)
_WORDS = {
    "string_too_short": "it is left empty",
    "string_too_long": "it is longer than {max_length} characters",
    "string_pattern_mismatch": "it holds letters or signs that have no place here",
    "string_type": "write it in quotes",
    "bool_type": "write true or false",
    "int_type": "write a whole number, without quotes",
    "greater_than_equal": "write {ge} or more",
    "less_than_equal": "write {le} or less",
    "literal_error": "write {expected}",
    "extra_forbidden": "there is no setting of this name",
}
"""What a kind of error means for the person who writes the file."""
Model = TypeVar("Model", bound=Confined)


class ShopSettings(Confined):
    """The [shop] table: whether this bench shares its trail with a shop, and how."""

    on: bool = False
    name: BenchId = "shop"
    """First part of every topic."""
    bench: BenchId = "bench"
    """This bench among the others; also its MQTT client id, and its user name where `user` says nothing else."""
    host: str = Field(default="localhost", min_length=1, max_length=253)
    port: Annotated[int, Field(ge=1, le=65535)] = 8883
    user: str = Field(default="", max_length=64)
    tls: bool = True
    ca: str = ""
    """Path of the certificate authority that the broker's certificate must lead to; empty: those of the system."""
    certificate: str = ""
    key: str = ""
    mqtt: Literal["auto", "3.1.1", "5"] = "auto"
    secrets: Literal["file", "keyring"] = "file"
    """Where the password is: in secrets.toml beside this file, or in the keyring of the operating system."""
    store: str = ""
    """Where the collector keeps what it took: a path, or a database URL without a password."""

    @model_validator(mode="after")
    def _fits(self) -> "ShopSettings":
        if bool(self.certificate) != bool(self.key):
            raise ValueError("certificate and key go together")
        if "://" in self.store and ":" in self.store.split("://", 1)[1].split("@")[0] and "@" in self.store:
            raise ValueError("a password has no place in store: put the whole URL into secrets.toml as store_url")
        return self


class VoiceSettings(Confined):
    """The [voice] table: whether jobs speak, and how."""

    on: bool = False
    language: str = Field(default="en-gb", pattern=r"^[a-z]{2,3}(-[a-z0-9]{1,8}){0,2}$")
    """A voice of the engine; the words are English."""
    speed: Annotated[int, Field(ge=80, le=450)] = 165
    """Words a minute."""


class Settings(Confined):
    """The whole of settings.toml."""

    radio: RadioSettings = RadioSettings()
    keys: KeySettings = KeySettings()
    shop: ShopSettings = ShopSettings()
    voice: VoiceSettings = VoiceSettings()


class Secrets(Confined):
    """The whole of secrets.toml."""

    password: SecretStr = SecretStr("")
    """Of the broker's user."""
    store_url: SecretStr = SecretStr("")
    """Of the collector's database, where a password is part of it."""


def load_settings(home: Path) -> Settings:
    """Read HOME/settings.toml; the defaults where there is none; BadInput names what is wrong."""
    path = home / "settings.toml"
    return Settings() if not path.is_file() else _model(Settings, path)


def load_secrets(home: Path) -> Secrets:
    """Read HOME/secrets.toml; empty where there is none; BadInput when others than its owner may read it."""
    path = home / "secrets.toml"
    if not path.is_file():
        return Secrets()
    if stat.S_IMODE(path.stat().st_mode) & 0o077:
        raise BadInput(f"{path} can be read by others.", f"Run: chmod 600 {path}")
    return _model(Secrets, path)


def _model(model: type[Model], path: Path) -> Model:
    try:
        return model.model_validate(tomllib.loads(_bounded(path)))
    except tomllib.TOMLDecodeError as error:
        told = BadInput(f"{path} is no TOML.", "Repair it.") if model is Secrets else BadInput(f"{path}: {error}.")
        raise told from (None if model is Secrets else error)
    except RecursionError:
        raise BadInput(f"{path} is nested too deeply.", "Flatten it.") from None
    except ValidationError as error:
        raise BadInput(f"{path}: {_told(error)}.", "See the settings in README.md.") from None


def _bounded(path: Path) -> str:
    """Return the text when it cannot keep the parser busy."""
    try:
        with path.open("rb") as file:
            data = file.read(MOST_OCTETS + 1)
        text = data.decode()
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(f"{path} cannot be read: {error}.", "Make it a UTF-8 text file.") from error
    if len(data) > MOST_OCTETS:
        raise BadInput(f"{path} is too long.", "Keep it to a few short lines.")
    if beyond := _BOUNDS.broken_by(text):
        raise BadInput(f"{path}: {beyond}.", "Keep it to a few short lines.")
    return text


def _told(error: ValidationError) -> str:
    """Tell the first problem by key, never by value: it may be a secret."""
    first = error.errors(include_url=False)[0]
    name = str(first["loc"][-1]) if first["loc"] else ""
    if first["type"] == "extra_forbidden" and len(first["loc"]) == 1 and isinstance(first["input"], dict):
        close = difflib.get_close_matches(name, Settings.model_fields, n=1) if error.title == Settings.__name__ else []
        return f"there is no table [{name}]" + "".join(f'; did you mean "[{each}]"' for each in close)
    words = _WORDS.get(first["type"])
    said = words.format(**first.get("ctx", {})) if words else first["msg"].removeprefix("Value error, ")
    return f"{'.'.join(str(part) for part in first['loc']) or 'the table'}: {said}"

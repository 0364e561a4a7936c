"""Settings and secrets: nothing is needed, everything is checked, and no secret is ever repeated."""

from pathlib import Path

import pytest

from logger.errors import BadInput
from logger.settings.file import Secrets, Settings, load_secrets, load_settings


def put(folder: Path, name: str, text: str, mode: int = 0o600) -> None:
    (folder / name).write_text(text)
    (folder / name).chmod(mode)


def test_without_a_file_the_shop_is_off(tmp_path: Path) -> None:
    assert load_settings(tmp_path) == Settings()
    assert load_settings(tmp_path).shop.on is False
    assert load_secrets(tmp_path) == Secrets()


def test_what_is_written_is_read(tmp_path: Path) -> None:
    put(tmp_path, "settings.toml", '[shop]\non = true\nname = "depot"\nbench = "bay-2"\nport = 1883\ntls = false\n')
    shop = load_settings(tmp_path).shop
    assert (shop.on, shop.name, shop.bench, shop.port, shop.tls) == (True, "depot", "bay-2", 1883, False)


def test_the_voice_is_off_until_it_is_asked_for(tmp_path: Path) -> None:
    assert load_settings(tmp_path).voice.on is False
    put(tmp_path, "settings.toml", '[voice]\non = true\nlanguage = "en-us"\nspeed = 140\n')
    voice = load_settings(tmp_path).voice
    assert (voice.on, voice.language, voice.speed) == (True, "en-us", 140)


@pytest.mark.parametrize(
    "text",
    [
        "[shop]\non = 1",
        '[shop]\nport = "1883"',
        "[shop]\nport = 0",
        '[shop]\nbench = "Bay 2"',
        '[shop]\nmore = "x"',
        "[shops]\non = true",
        '[shop]\nmqtt = "4"',
        '[shop]\ncertificate = "a.pem"',
        "[voice]\non = 1",
        "[voice]\nspeed = 20",
        '[voice]\nlanguage = "--stdin"',
        '[voice]\nlanguage = "en gb"',
        "[shop",
        "[shop]\non = true\non = false",
        f"[shop]\n{'a.' * 40}b = 1",
        f'[shop]\nca = "{"x" * 2000}"',
        "\n" * 3000,
        "x = 1\n" * 20_000,
    ],
)
def test_what_is_wrong_is_told_with_the_file(tmp_path: Path, text: str) -> None:
    put(tmp_path, "settings.toml", text)
    with pytest.raises(BadInput, match=r"settings\.toml"):
        load_settings(tmp_path)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[shop]\nhost = ""', "shop.host: it is left empty."),
        (f'[shop]\nuser = "{"x" * 65}"', "shop.user: it is longer than 64 characters."),
        ('[shop]\nbench = "Bay 2"', "shop.bench: it holds letters or signs that have no place here."),
        ("[shop]\nport = 0", "shop.port: write 1 or more."),
        ('[shop]\nport = "1883"', "shop.port: write a whole number, without quotes."),
        ("[shop]\non = 1", "shop.on: write true or false."),
        ('[shop]\nmqtt = "4"', "shop.mqtt: write 'auto', '3.1.1' or '5'."),
        ('[shop]\nmore = "x"', "shop.more: there is no setting of this name."),
        ('[key]\nconfirm = "f16"', 'there is no table [key]; did you mean "[keys]".'),
        ("[shops]\non = true", 'there is no table [shops]; did you mean "[shop]".'),
        ("[zzz]\non = true", "there is no table [zzz]."),
        ("zzz = 1", "zzz: there is no setting of this name."),
        ('[shop]\ncertificate = "a.pem"', "shop: certificate and key go together."),
    ],
)
def test_what_is_wrong_is_told_in_words_of_a_person(tmp_path: Path, text: str, said: str) -> None:
    put(tmp_path, "settings.toml", text)
    with pytest.raises(BadInput) as told:
        load_settings(tmp_path)
    assert told.value.message.endswith(f"settings.toml: {said}")


def test_a_file_that_is_no_text_is_told(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(BadInput, match="cannot be read"):
        load_settings(tmp_path)


def test_a_password_has_no_place_in_the_settings(tmp_path: Path) -> None:
    put(tmp_path, "settings.toml", '[shop]\nstore = "postgresql://evenhand:hush@db/shop"')
    with pytest.raises(BadInput, match=r"secrets\.toml") as told:
        load_settings(tmp_path)
    assert "hush" not in str(told.value)
    put(tmp_path, "settings.toml", '[shop]\nstore = "postgresql://evenhand@db/shop"')
    assert load_settings(tmp_path).shop.store == "postgresql://evenhand@db/shop"


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o644, 0o620])
def test_secrets_that_others_may_see_are_refused(tmp_path: Path, mode: int) -> None:
    put(tmp_path, "secrets.toml", 'password = "hush"', mode)
    with pytest.raises(BadInput, match="chmod 600"):
        load_secrets(tmp_path)


@pytest.mark.parametrize("text", ['password = "hush', "password = 5", 'word = "hush"', '["hush"]\npassword = "hush"'])
def test_a_secret_is_never_repeated(tmp_path: Path, text: str) -> None:
    put(tmp_path, "secrets.toml", text)
    with pytest.raises(BadInput) as told:
        load_secrets(tmp_path)
    assert "hush" not in f"{told.value}{told.value.__cause__}" or text.startswith(("word", '["hush"]'))


def test_a_secret_is_hidden_where_it_is_shown(tmp_path: Path) -> None:
    put(tmp_path, "secrets.toml", 'password = "hush"')
    found = load_secrets(tmp_path)
    assert found.password.get_secret_value() == "hush"
    assert "hush" not in repr(found)

"""Every key of settings.toml, told to a person: what it means and an example; the README shows it."""

from collections.abc import Iterator, Mapping

from logger.confined import Confined

from .file import Settings

_ALSO = "A further key for {}."
MEANINGS: Mapping[str, Mapping[str, tuple[str, str]]] = {
    "radio": {
        "adapter": ("Address of the Bluetooth adapter to use; left out: the first one found.", '"00:00:5E:00:53:01"'),
        "max_tools": (
            "Tools that are linked at once, 1 to 16; of more, the one that rests longest gives way; left out: 4.",
            "4",
        ),
    },
    "keys": {
        "confirm": (_ALSO.format("F2: confirm; in a dialog: yes, do it"), '"f16"'),
        "take_back": (_ALSO.format("F3: take the last reading back"), '"pageup"'),
        "note": (_ALSO.format("F4: write something down"), '"ctrl+f4"'),
        "as_advised": (_ALSO.format("F5: turned as advised"), '"f13"'),
        "otherwise": (_ALSO.format("F6: turned otherwise"), '"f14"'),
        "loosened": (_ALSO.format("F7: loosened"), '"f15"'),
        "override": (_ALSO.format("F8: let one open check pass"), '"shift+f8"'),
        "close_job": (_ALSO.format("F9: close the job"), '"end"'),
        "pedal": (_ALSO.format("F1: the value that a tool shows now is the reading"), '"insert"'),
    },
    "shop": {
        "on": ("Whether the trail is sent while a job runs; left out: false.", "true"),
        "name": ("The shop: a-z, 0-9 and -; left out: shop.", '"depot"'),
        "bench": ("This bench; also its MQTT client id, and its user name at the broker; left out: bench.", '"bay-2"'),
        "host": ("The broker; left out: localhost.", '"broker.depot.example"'),
        "port": ("Its port, 1 to 65535; left out: 8883.", "8883"),
        "user": ("The user name, where it is another one than the bench.", '"bay-2"'),
        "tls": ("Whether the connection is encrypted; left out: true.", "true"),
        "ca": ("The authority that the broker's certificate leads to; left out: those of the system.", '"/etc/ca.pem"'),
        "certificate": ("Client certificate, together with `key`.", '"/etc/bay-2.pem"'),
        "key": ("Its private key.", '"/etc/bay-2.key"'),
        "mqtt": ("Version of MQTT: auto, 5 or 3.1.1; left out: auto.", '"auto"'),
        "secrets": ("Where the password is: file (`secrets.toml`) or keyring; left out: file.", '"keyring"'),
        "store": ("Of the collector: a path, or a postgresql:// URL without a password.", '"/srv/shop.sqlite"'),
    },
    "voice": {
        "on": ("Whether jobs speak; left out: false.", "true"),
        "language": ("A voice of the speech engine; the words are English; left out: en-gb.", '"en-gb"'),
        "speed": ("Words a minute, 80 to 450; left out: 165.", "165"),
    },
}
"""Table -> key -> what it means, and an example as written in the file."""


def tables() -> dict[str, type[Confined]]:
    """Return the tables of the file, by name."""
    return {name: type(field.default) for name, field in Settings.model_fields.items()}


def as_markdown() -> str:
    """Return a table for each table of the file."""
    return "\n".join(_lines())


def _lines() -> Iterator[str]:
    for name in tables():
        yield from (f"**`[{name}]`**", "", "| key | meaning | example |", "|---|---|---|")
        for key, (meaning, example) in MEANINGS[name].items():
            yield f"| `{key}` | {meaning} | `{example}` |"
        yield ""

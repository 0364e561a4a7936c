"""Keys that a person gave a meaning in the settings, as a foot pedal or a presenter sends them; pure."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from .actions import ALL


@dataclass(frozen=True, slots=True)
class Keymap:
    """Further keys for what function keys do; the function keys go on working."""

    given: Mapping[str, str] = field(default_factory=dict)
    """Name of an action -> a further key for it."""

    def meant(self, key: str) -> str:
        """Return the function key that a key stands for; any other key is what it is."""
        return next((action.key for action in ALL if self.given.get(action.name) == key), key)

    def shown(self, key: str) -> str:
        """Return the key to show a person in place of a function key."""
        return next((self.given[action.name] for action in ALL if action.key == key and action.name in self.given), key)


def shown_by(app: object, key: str) -> str:
    """Return the key to show in place of a function key in an app, which may have a keymap in its `keys` or not."""
    keymap = getattr(app, "keys", None)
    return keymap.shown(key) if isinstance(keymap, Keymap) else key

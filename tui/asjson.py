"""What `--json` prints; apart, since who only works something out should not wait for what makes records."""

import json
import unicodedata

_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}


def as_json(content: object) -> str:
    """Return JSON text whose characters can all be seen: the others stand as escapes, so that it is safe to print."""
    text = json.dumps(content, ensure_ascii=False, indent=2, allow_nan=False)
    return "".join(map(_visible, text)) + "\n"


def _visible(character: str) -> str:
    if character == "\n" or unicodedata.category(character) not in _HIDDEN:
        return character
    return json.dumps(character)[1:-1]

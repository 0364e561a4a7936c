"""The head of a trail, noted elsewhere: what a later look at the trail is compared with; pure.

A chain shows what was changed inside it. That its end was cut off, or all of it written anew, shows only against a head
that was noted outside: on a record, on paper, at the shop.
"""

import re
from dataclasses import dataclass

from .anchorwords import from_words, to_words

_MARK = "EVENHAND"
_TEXT = re.compile(
    rf"{_MARK}:1:(?P<trail>[0-9a-f]{{32}}):(?P<seq>[0-9]{{1,15}}):(?P<hash>[0-9a-f]{{64}})", re.IGNORECASE
)
_BARE = re.compile(r"(?P<seq>[0-9]{1,15})[: ](?P<hash>[0-9a-f]{64})", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Anchor:
    """A head: the number of an event and its hash; what was noted may hold less than the whole."""

    seq: int
    hash: bytes
    """32 bytes, or the first 8 where it was noted in words."""
    trail: str = ""
    """Id of the trail; empty where it was not noted."""
    key: bytes = b""
    """Public key of the bench that signed it, 32 bytes; empty where nobody did."""
    signature: bytes = b""

    @property
    def words(self) -> str:
        """The head in short words, for people."""
        return to_words(self.seq, self.hash)


def as_text(anchor: Anchor) -> str:
    """Return the whole head in one line of capitals, digits and colons, as the QR code holds it."""
    return f"{_MARK}:1:{anchor.trail}:{anchor.seq}:{anchor.hash.hex()}".upper()


def from_text(text: str) -> Anchor:
    """Read a head as noted: words, `NUMBER:HASH`, or the text of its QR code; BadInput when it is none of them."""
    bare = text.strip()
    if found := _TEXT.fullmatch(bare):
        return Anchor(int(found["seq"]), bytes.fromhex(found["hash"]), found["trail"].lower())
    if found := _BARE.fullmatch(bare):
        return Anchor(int(found["seq"]), bytes.fromhex(found["hash"]))
    return Anchor(*from_words(bare))

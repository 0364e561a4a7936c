"""Short words for the head of a trail, to be printed, read out and typed again; pure.

One word stands for one byte. The 256 words have four to seven letters, no two begin with the same three, and any two
differ in at least three letters, so that a slip of the tongue or of the finger is no other word. The last word is a
check over the number and the others.
"""

import difflib
import hashlib
import re

from logger.errors import BadInput

HASH_BYTES = 8
"""How much of the hash the words carry: 64 bits."""
_CHECK = b"evenhand-words-1\n"

_TEXT = """
acorn adobe agate album alder angle anvil apron arbor arena aspen atlas attic autumn awning badge baker balsa
bamboo banjo barley basil beach beetle bellow berry bison blouse bobbin bonnet border bracket brick bronze brush
buffalo burlap butter cabin cactus camel canoe cargo castle cedar cement chalk chisel cinder circus clamp clover
cobalt coffee compass copper cotton crayon crown crystal cuckoo curtain cushion cypress dahlia daisy dancer
delta denim desert diesel dolphin domino donkey dough drawer drum dynamo echo eclipse egret ember emerald engine
estate exhaust fabric falcon farmer feather fennel fiddle finch flask flint flute forest fossil furnace gallery
garden gasket gazelle giraffe glacier gnome goblet gorge grape guitar gully gypsum helmet herring hickory hinge
hotel hydrant iceberg igloo indigo inlet iris island ivory jasmine jersey jigsaw journal jumper kayak kidney
kiosk kitchen knot koala lagoon lantern lasso lemon lentil lilac linen lizard lobster locket lupin lynx magnet
maple marsh meadow mercury mimosa mirror mitten moose mosaic motor muffin mural mustard myrtle napkin nectar
nickel noodle nugget nutmeg nylon oboe ocean octopus olive onion opal orange orbit orchid osprey oxygen palace
panther parrot pebble pewter piano pickle pigeon plaza poppy pumpkin puzzle quail rabbit radish rafter raisin
raven ribbon ripple rubber runway saffron sandal scarf scone sensor silver sketch skylark sloop smock spinach
stable stencil sugar summit sunset swallow syrup tailor tandem teapot temple thicket tomato tractor trellis
tulip tundra turbine tweed unicorn vacuum vanilla vessel viaduct violin vista volcano voyage vulture waffle
walnut whisker window wolf wrench yacht yarn yeast zebra zenith zigzag zodiac
"""
WORDS = tuple(_TEXT.split())
"""The word for each byte, in alphabetical order."""
_BYTE = {word[:3]: byte for byte, word in enumerate(WORDS)}


def to_words(seq: int, digest: bytes) -> str:
    """Return the head as its number, eight words for the first 64 bits of its hash, and one check word."""
    kept = digest[:HASH_BYTES]
    return " ".join((str(seq), *(WORDS[byte] for byte in kept + _check(seq, kept))))


def from_words(text: str) -> tuple[int, bytes]:
    """Return the number and the first 64 bits of the hash; BadInput names the word that is not known, or a slip."""
    number, *words = re.findall(r"[0-9]+|[^\W\d_]+", text.lower()) or [""]
    if not number.isascii() or not number.isdigit() or len(number) > 15 or len(words) != HASH_BYTES + 1:
        raise BadInput(
            "A head in words is one number and nine words.", "Copy them from the record, as: 41 acorn badge ..."
        )
    found = bytes(_byte(word) for word in words)
    if found[HASH_BYTES:] != _check(int(number), found[:HASH_BYTES]):
        raise BadInput("The nine words and the number do not belong together.", "Compare each with the record.")
    return int(number), found[:HASH_BYTES]


def _byte(word: str) -> int:
    byte = _BYTE.get(word[:3])
    if byte is None or difflib.SequenceMatcher(None, WORDS[byte], word).ratio() < 0.8:
        near = difflib.get_close_matches(word, WORDS, n=1, cutoff=0.6)
        meant = f"Perhaps {near[0]}? " if near else ""
        raise BadInput(f'"{word[:20]}" is none of the words of a head.', f"{meant}Compare it with the record.")
    return byte


def _check(seq: int, kept: bytes) -> bytes:
    return hashlib.sha256(_CHECK + str(seq).encode() + b"\n" + kept).digest()[:1]

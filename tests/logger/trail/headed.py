"""A head that the tests of its forms note elsewhere."""

from logger.trail.anchor import Anchor

TRAIL = "0123456789abcdef0123456789abcdef"
HASH = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
HEAD = Anchor(41, bytes.fromhex(HASH), TRAIL)

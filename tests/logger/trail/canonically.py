"""Whether bytes are the only ones that could stand for their record."""

from logger.errors import BadInput
from logger.trail.canonical import decode, encode


def is_canonical(data: bytes) -> bool:
    try:
        return encode(decode(data)) == data
    except BadInput:
        return False

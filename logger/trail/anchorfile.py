"""The head of a trail in a file: a JSON record, or the head alone; apart, since only a comparison waits for models."""

import json

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from logger.errors import BadInput

from .anchor import Anchor, from_text


class _Head(BaseModel):
    """The head in a JSON record; what else a later version says of it is not needed here."""

    model_config = ConfigDict(frozen=True, strict=True, extra="ignore")
    trail: str = Field(pattern="^[0-9a-f]{32}$")
    seq: int = Field(ge=0, lt=10**15)
    sha256: str = Field(pattern="^[0-9a-f]{64}$")
    key: str = Field("", pattern="^([0-9a-f]{64})?$")
    signature: str = Field("", pattern="^([0-9a-f]{128})?$")


def from_record(data: bytes, name: str) -> Anchor:
    """Read the head from a JSON record, or from a file that holds nothing but a head; BadInput otherwise."""
    try:
        content = json.loads(data)
        head = _Head.model_validate(content["head"]) if content["format"] == "evenhand-record" else None
    except (ValueError, KeyError, TypeError, RecursionError, ValidationError):
        head = None
    if head is not None:
        signed = bytes.fromhex(head.key), bytes.fromhex(head.signature)
        return Anchor(head.seq, bytes.fromhex(head.sha256), head.trail, *signed)
    try:
        return from_text(data[:4096].decode())
    except (UnicodeDecodeError, BadInput):
        raise BadInput(f"{name} is neither a JSON record nor a head.", "Name a file made by: evenhand record") from None

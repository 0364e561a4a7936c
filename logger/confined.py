"""The one base of every model that meets the outside or is stored: frozen, strict, nothing unknown let in."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, StringConstraints


class Confined(BaseModel):
    """A frozen, strict model that refuses keys it does not know."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", arbitrary_types_allowed=True, defer_build=True)


Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_-]{0,31}$")]
"""A name within a sheet: lower-case letters, digits, `_` and `-`, at most 32, beginning with a letter."""

Line = Annotated[str, StringConstraints(min_length=1, max_length=300, pattern=r"\S")]
"""A sentence of a sheet or of a person: 1 to 300 characters, not blank."""

Digits = Annotated[str, StringConstraints(max_length=64, pattern=r"^[+-]?[0-9]+(\.[0-9]+)?$")]
"""A decimal written out: no exponent, since 1e-999999999 as a fraction would fill the memory."""

Name = Annotated[str, StringConstraints(min_length=1, max_length=64, pattern=r"\S")]
"""The name of a person or a machine: 1 to 64 characters, not blank."""

BenchId = Annotated[str, StringConstraints(pattern=r"^[a-z0-9-]{1,32}$")]
"""The name of a bench towards the shop: lower-case letters, digits and `-`, at most 32."""

"""What else is wrong with a sheet that is not valid yet: the rules of each step on those steps that are; pure."""

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from .rules import own_faults
from .sheet import Sheet

_STANDS_IN: Mapping[str, Any] = {
    "format": 1,
    "id": "x",
    "title": "x",
    "revision": "1",
    "about": "x",
    "cautions": ["x"],
}
"""What the top of a sheet must have, in place of what is wrong or missing there."""


def faults_of_the_rest(tree: Mapping[str, Any], error: ValidationError) -> tuple[str, ...]:
    """Return what the rules say of the steps that are valid, though others, or the top, are not."""
    wrong = [each["loc"] for each in error.errors(include_url=False, include_input=False)]
    steps = {loc[1] for loc in wrong if loc[:1] == ("step",) and len(loc) > 1}
    top = {loc[0] for loc in wrong if loc and loc[0] != "step"}
    known = tree.get("step")
    if not isinstance(known, list):
        return ()
    rest = {key: value for key, value in tree.items() if key not in top} | {
        key: value for key, value in _STANDS_IN.items() if key in top
    }
    rest["step"] = [_stand_in(at) if at in steps else step for at, step in enumerate(known)]
    try:
        sheet = Sheet.model_validate(rest)
    except ValidationError:
        return ()  # what is left does not stand by itself: it is told once the rest is put right
    return own_faults(sheet)


def _stand_in(at: int) -> dict[str, Any]:
    """Return a step that is valid and keeps its place, so that the others are told by the right number."""
    return {"id": f"unread-{at}", "kind": "confirm", "title": "x", "items": ["x"]}

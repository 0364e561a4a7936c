"""What a profile may say of standing still."""

import pytest
from pydantic import ValidationError

from drivers.profile.steady import COMMON, Steady


@pytest.mark.parametrize(
    "change",
    [{"band": "0.02 N·m"}, {"band": "0.02"}, {"away": "1 %"}, {"for_ms": 20}, {"for_ms": "300"}, {"band": "-0.02 mm"}],
)
def test_what_is_no_rule_is_refused(change: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        Steady.model_validate({**COMMON.model_dump(), **change})

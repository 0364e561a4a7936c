"""The table of profile keys is that of the models: none is missing or made up, each is told once a table."""

from collections import Counter
from typing import get_args

import pytest

from drivers.profile.keys import HEADINGS, KEYS, MODELS, allowed, as_markdown, required
from drivers.profile.values import Value

COMMON = {key.name for key in KEYS if "values" in key.tables}


@pytest.mark.parametrize("table", MODELS)
def test_each_table_has_the_keys_of_its_models(table: str) -> None:
    told = {key.name for key in KEYS if table in key.tables}
    have = {name for model in MODELS[table] for name in model.model_fields}
    if table == "values":
        assert told == set.intersection(*(set(model.model_fields) for model in MODELS[table]))
    else:
        assert told == have - (COMMON if table in ("number", "text") else set())


def test_every_key_of_every_model_is_told_somewhere() -> None:
    told = {key.name for key in KEYS}
    assert {name for models in MODELS.values() for model in models for name in model.model_fields} == told
    assert set(HEADINGS) == set(MODELS) == {table for key in KEYS for table in key.tables}


def test_each_is_told_once_and_stays_within_its_cell() -> None:
    counted = Counter((table, key.name) for key in KEYS for table in key.tables)
    assert set(counted.values()) == {1}
    assert not [key for key in KEYS if "|" in key.meaning + key.example or "`" in key.example]


@pytest.mark.parametrize(
    ("table", "name", "must"),
    [("top", "kind", True), ("top", "about", False), ("values", "decode", True), ("number", "form", True),
     ("steady", "band", True), ("text", "pattern", True), ("vector", "hex", True)],
)  # fmt: skip
def test_what_must_be_given(table: str, name: str, must: bool) -> None:
    assert required(table, name) is must
    assert f"| `{name}` | {'yes' if must else ''} |" in as_markdown()


@pytest.mark.parametrize(
    ("table", "name", "said"),
    [
        ("values", "decode", '"sig", "described", "number", "text" or "typed"'),
        ("top", "capture", '"button", "pedal" or "steady"; left out: "button"'),
        ("top", "duplicate_ms", "0 to 2000; left out: 80"),
        ("top", "sample_rate", "1 to 1000"),
        ("number", "offset", "0 to 511"),
        ("case", "equals", "0 to 255 or text"),
        ("mode case", "reads", "true or false; left out: true"),
        ("number", "unit", ""),
        ("number", "mask", ""),
        ("values", "characteristic", ""),
    ],
)
def test_what_may_stand_there(table: str, name: str, said: str) -> None:
    assert allowed(table, name) == said
    assert f" | {said} | " in as_markdown()


def test_every_kind_of_value_has_its_keys_told() -> None:
    kinds = set(get_args(get_args(Value)[0]))
    assert set(MODELS["values"]) == kinds
    own = {kind for table in ("number", "text") for kind in MODELS[table]}
    assert {kind for kind in kinds if set(kind.model_fields) - COMMON} == own

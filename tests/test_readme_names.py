"""What README names is in the code, and the reverse: verdicts, keys of files, units, words, extras, topics."""

import re
import tomllib
from collections import Counter
from pathlib import Path
from typing import get_args

import pytest

from drivers.profile import keys as profilekeys
from drivers.profile.fields import Unit
from drivers.profile.profile import ToolProfile
from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.job.verdictwords import SHAPES
from logger.learn import talk as learntalk
from logger.settings import keys as settingkeys
from logger.settings.file import Secrets
from logger.sheets import keys as sheetkeys
from logger.sheets.store import open_sheet, shipped
from logger.sheets.written import ToolKind
from logger.shop.topics import BenchTopics, access_list, collector_state
from logger.toolbook.toolbook import Tool
from logger.trail.trail import Trail
from logger.units import parse_quantity
from tui.plain import HELP, Plain

from .played import Ticking
from .readme import README, ROOT, prose, rows, section, spans


def keys_told(text: str) -> Counter[str]:
    """Keys of a file format, as often as tables tell them."""
    return Counter(spans(cells[0])[0] for cells in rows(text))


def test_verdicts_and_shapes_are_all_there_and_the_reverse() -> None:
    told = [(spans(first), second.split()) for first, second, _ in rows(section("## What the verdicts mean"))]
    assert {(word, shape) for words, shapes in told for word, shape in zip(words, shapes, strict=True)} == {
        (verdict, SHAPES[verdict]) for verdict in get_args(ev.Verdict)
    }


def test_every_shipped_sheet_is_told_and_the_reverse() -> None:
    assert {spans(name)[0] for name, _ in rows(section("## Job sheets"))} == set(shipped())


def test_sheet_keys_are_those_of_the_models() -> None:
    text = section("### Keys of a sheet")
    assert sheetkeys.as_markdown().strip() in text
    steps = [set(sheetkeys.MODELS[kind].model_fields) for kind in sheetkeys.STEP_KINDS]
    common = set.intersection(*steps)
    fields = Counter(common)
    for table, model in sheetkeys.MODELS.items():
        fields.update(set(model.model_fields) - (common if table in sheetkeys.STEP_KINDS else set()))
    assert keys_told(text) == fields


def test_profile_keys_are_those_of_the_models() -> None:
    text = section("### Keys of a profile")
    assert profilekeys.as_markdown().strip() in text
    assert set(keys_told(text)) == {
        name for models in profilekeys.MODELS.values() for model in models for name in model.model_fields
    }
    assert set(ToolProfile.model_fields) <= set(keys_told(text))


def test_settings_are_those_of_the_models() -> None:
    text = section("### Settings")
    assert settingkeys.as_markdown().strip() in text
    assert keys_told(text) == Counter(name for model in settingkeys.tables().values() for name in model.model_fields)


def test_secrets_are_those_of_the_model() -> None:
    told = set(re.findall(r"`([a-z_]+) = \"\.\.\.\"`", section("## A whole shop")))
    assert told == set(Secrets.model_fields)


def test_toolbook_keys_are_those_of_the_model() -> None:
    text = section("### The toolbook").split("In `toolbook.toml`")[1].split("\n\n")[0]
    assert Counter(spans(text)) == Counter(list(Tool.model_fields))


def test_units_of_a_profile_are_all_there_and_the_reverse() -> None:
    sentence = " ".join(section("### Profiles").split()).split("Units: ")[1].split(". ")[0]
    assert set(spans(sentence)) == set(get_args(Unit))


def test_every_unit_that_is_named_is_known() -> None:
    beside_numbers = [span.strip('"') for span in spans(prose()) if re.fullmatch(r'"?-?[0-9][0-9.]* [^ ]+"?', span)]
    by_another_name = " ".join(section("## Job sheets").split()).split("and the like mean")[0].rpartition("; ")[2]
    quantities = [*beside_numbers, *(f"1 {unit}" for unit in spans(by_another_name))]
    assert {"36 mm", "72 lbf·ft", "1 Nm", "1 thou"} <= set(quantities)
    for text in quantities:
        assert parse_quantity(text).unit, text


def test_every_kind_of_typed_tool_is_told() -> None:
    (row,) = [text for words, text in rows(section("## A job by hand")) if "`with TOOL`" in words]
    assert spans(row) == list(get_args(ToolKind))
    assert ", ".join(spans(row)) in dict(HELP)["with TOOL"]


def test_the_help_of_a_plain_session_tells_what_the_table_tells_of_adapters_and_corrections() -> None:
    told = [span for words, text in rows(section("## A job by hand")) for span in spans(f"{words} {text}")]
    assert "adapter [STEP] WRENCH EXTENSION [ANGLE]" in told
    assert next(words for words, _ in HELP if words.startswith("adapter")).split()[1] == "[STEP]"
    assert "note mileage 13120" in told
    assert "note mileage 13120" in dict(HELP)["note TEXT"]


async def plain(folder: Path) -> Plain:
    with Trail.open(folder / "trail.sqlite") as trail:
        bench = await Bench.open(trail, Ticking(), Opening(open_sheet("courier-chain"), "Depot 7", "Robin"))
        return Plain(bench, Ticking(), "Robin", lambda _: None)


async def test_words_of_a_plain_session_are_all_there_and_the_reverse(tmp_path: Path) -> None:
    told = {
        span.split()[0] for words, _ in rows(section("## A job by hand")) for span in spans(words) if span[0].isalpha()
    }
    known = {"quit", *(await plain(tmp_path))._words}
    assert told == known
    assert known == {word for words, _ in HELP for word in re.findall(r"(?:^|, )([a-z]+)", words)}


def test_words_of_learning_live_are_told() -> None:
    section_ = section("### A tool nobody has met")
    for word in ("#7 30.41 mm", "skip", "back", "done", "quit"):
        assert word in learntalk.HELP
        assert f"`{word}`" in section_, word


def test_extras_are_all_there_and_the_reverse() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert set(re.findall(r"evenhand\[([a-z]+)\]", README)) == set(project["optional-dependencies"]) - {"test"}
    assert f"Python {project['requires-python'].removeprefix('>=')} or newer" in README


def test_topics_of_a_shop_are_all_there_and_the_reverse() -> None:
    bench = BenchTopics("depot", "bay-2")
    told = {span for topics, _, _ in rows(section("## A whole shop")) for span in spans(topics)}
    in_full = {re.sub(r"^\$", "SHOP/1/BENCH/$", each) for each in told}
    access = re.findall(r"depot/1/(?:%u|\+|\$collector)/\S+", access_list("depot"))
    leaves = {re.sub(r"event/#", "event/TRAIL/SEQ", each.split("/", 3)[3]) for each in access}
    assert {each.removeprefix("SHOP/1/BENCH/").removeprefix("SHOP/1/$collector/") for each in in_full} == leaves
    assert collector_state("SHOP") in in_full
    assert {each.replace("depot", "SHOP").replace("bay-2", "BENCH") for each in bench.heard} <= in_full


@pytest.mark.parametrize("heading", re.findall(r"^#{2,3} (.*)$", README, re.MULTILINE))
def test_no_heading_stands_twice(heading: str) -> None:
    assert len(re.findall(rf"^#+ {re.escape(heading)}$", README, re.MULTILINE)) == 1

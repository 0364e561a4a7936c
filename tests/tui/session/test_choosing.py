"""What there is to choose from before a job: sheets, and the tools of the toolbook that would serve."""

import re
from collections.abc import Sequence
from pathlib import Path

import pytest

from logger import events as ev
from logger.bench.bench import Bench, Opening
from logger.errors import BadInput
from logger.settings.settings import Home
from logger.sheets.store import open_sheet, shipped, shipped_text
from logger.shelf.shelf import records
from logger.toolbook.file import write_toolbook
from logger.toolbook.toolbook import Toolbook
from logger.trail.trail import Trail
from tests.logger.toolbook.made import tool
from tests.tui.hand import StillClock
from tui.choice import NEW, Choice, Page, next_page
from tui.cli import main
from tui.exits import Exit
from tui.session.choosing import depot_of, tools_given
from tui.session.kit import Kit, kit_of


def _home(folder: Path, **sheets: bytes) -> Home:
    home = Home(folder)
    home.sheets.mkdir()
    for name, text in sheets.items():
        (home.sheets / f"{name}.toml").write_bytes(text)
    return home


def test_a_sheet_of_ones_own_is_offered_before_the_shipped_ones(tmp_path: Path) -> None:
    own = shipped_text("courier-chain").replace(b'title = "Chain and rear axle"', b'title = "Our own chain"', 1)
    home = _home(tmp_path, ours=own)
    page = next_page(Choice(NEW), depot_of(home, kit_of(home), Choice()))
    assert page is not None
    path = str(home.sheets / "ours.toml")
    assert [offer.value for offer in page.offers] == [path, *shipped()]
    assert page.offers[0].title == "Our own chain"
    assert page.offers[0].more[-1] == f"Your own: {path}"


def test_sheets_of_one_title_are_told_apart(tmp_path: Path) -> None:
    home = _home(tmp_path, copied=shipped_text("courier-chain"))
    page = next_page(Choice(NEW), depot_of(home, kit_of(home), Choice()))
    assert page is not None
    assert page.offers[0].title.startswith("Chain and rear axle (courier-chain, revision ")


def test_a_sheet_that_cannot_be_used_is_told_and_the_others_are_offered(tmp_path: Path) -> None:
    home = _home(tmp_path, broken=b"format = 1\n")
    page = next_page(Choice(NEW), depot_of(home, kit_of(home), Choice()))
    assert page is not None
    assert [offer.value for offer in page.offers] == list(shipped())
    assert page.lines[0].startswith("Caution: the sheet broken.toml is not offered: ")


def test_a_home_without_sheets_offers_the_shipped_ones(tmp_path: Path) -> None:
    home = Home(tmp_path)
    assert list(depot_of(home, kit_of(home), Choice()).sheets) == list(shipped())


# --- tools ----------------------------------------------------------------------------------------------------------

CHAIN = Choice(NEW, "courier-chain", "Depot 7", "Robin")
JAWS, SPARE = (tool(name, serial=name, accuracy="0.03 mm", resolution="0.01 mm") for name in ("jaws", "spare"))
LEVER, BAR = (tool(name, kind="torque wrench", serial=name, accuracy="4 %") for name in ("lever", "bar"))


def _tooled(folder: Path) -> tuple[Home, Kit]:
    home = Home(folder)
    write_toolbook(home.toolbook, Toolbook(tool=(JAWS, SPARE, LEVER, BAR)))
    return home, kit_of(home)


def _page(home: Home, kit: Kit, choice: Choice = CHAIN) -> Page:
    page = next_page(choice, depot_of(home, kit, choice))
    assert page is not None
    return page


def test_the_tools_of_the_toolbook_are_asked_for_where_several_would_do(tmp_path: Path) -> None:
    home, kit = _tooled(tmp_path)
    page = _page(home, kit)
    assert (page.title, [offer.value for offer in page.offers]) == ("Which caliper?", ["jaws", "spare"])
    assert page.offers[0].more[-1] == "jaws: caliper, ± 0.03 mm; calibration not stated"


async def test_the_one_used_last_time_comes_first(tmp_path: Path) -> None:
    home, kit = _tooled(tmp_path)
    trail = home.trail
    with Trail.open(trail) as opened:
        bench = await Bench.open(opened, StillClock(), Opening(open_sheet("courier-chain"), "Depot 4", "Kim"))
        await bench.pick_tools([ev.Pick(tool="spare", tool_kind="caliper", steps=("wear", "slack", "sides"))])
    page = _page(home, kit)
    assert [offer.value for offer in page.offers] == ["spare", "jaws"]
    assert page.offers[0].more[-1] == "Used for this last time."


def test_what_is_known_of_the_machine_is_weighed_too_and_tools_passed_over_are_not(tmp_path: Path) -> None:
    home = Home(tmp_path)
    rough = tool("rough", serial="rough", accuracy="0.03 mm", resolution="0.6 mm")
    write_toolbook(home.toolbook, Toolbook(tool=(JAWS, rough)))
    kit, asked = kit_of(home), list[str]()

    def offset_of(machine: str) -> ev.SideOffset | None:
        asked.append(machine)
        return None

    depot = depot_of(home, kit, CHAIN, offset_of)
    assert any("with rough" in each for each in depot.weigh(CHAIN).cannot)
    picked = Choice(NEW, "courier-chain", "x", "y", {"caliper": "jaws"})
    assert not any("rough" in each for each in depot.weigh(picked).cannot)
    assert set(asked) == {"Depot 7", "x"}


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ([], {}),
        (["spare"], {"caliper": "spare"}),
        (["lever"], {"axle_nut": "lever", "lock_nuts": "lever"}),
        (["lever", "lock_nuts=bar"], {"axle_nut": "lever", "lock_nuts": "bar"}),
        (["caliper=jaws", "lever"], {"caliper": "jaws", "axle_nut": "lever", "lock_nuts": "lever"}),
    ],
    ids=str,
)
def test_a_tool_is_given_by_name_for_all_it_serves_or_for_one_step(
    tmp_path: Path, words: Sequence[str], found: dict[str, str]
) -> None:
    _, kit = _tooled(tmp_path)
    assert tools_given(kit, kit.needs(open_sheet("courier-chain").sheet), words) == found


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["hammer"], '"hammer" is no tool in use of the toolbook. In use: jaws, spare, lever, bar'),
        (["jaws", "spare"], "--tool jaws and --tool spare are both for caliper. Name one of them, or say what each"),
        (["lever", "bar"], "--tool lever and --tool bar are both for Axle nut. Name one of them, or say what each is"),
        (["axle=lever"], '"axle" is nothing a tool is used for here. Name one of: caliper, depth gauge'),
        (["axle_nut=jaws"], "--tool jaws is a caliper, which is not used for Axle nut"),
    ],
    ids=str,
)
def test_a_tool_that_cannot_serve_is_refused_with_what_can_be_said(
    tmp_path: Path, words: Sequence[str], said: str
) -> None:
    _, kit = _tooled(tmp_path)
    with pytest.raises(BadInput, match=re.escape(said)):
        tools_given(kit, kit.needs(open_sheet("courier-chain").sheet), words)


PLAIN = ["start", "courier-chain", "--machine", "Depot 7", "--by", "Robin", "--plain", "--no-radio"]


def _played(
    monkeypatch: pytest.MonkeyPatch, home: Path, capsys: pytest.CaptureFixture[str], *words: str
) -> tuple[int, str, str]:
    monkeypatch.setattr("tui.session.session.STDIN", 987654)  # nothing to read there: the input ends at once
    write_toolbook(home / "toolbook.toml", Toolbook(tool=(JAWS, SPARE, LEVER, BAR)))
    code = main([*words])
    return code, *capsys.readouterr()


def test_a_plain_session_takes_its_tools_from_the_command_line(
    own_home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    words = [*PLAIN, "--tool", "spare", "--tool", "lever", "--tool", "lock_nuts=bar"]
    code, said, _ = _played(monkeypatch, own_home, capsys, *words)
    assert code == Exit.LEFT_OPEN
    assert "Robin uses: spare (caliper); lever (torque wrench); bar (torque wrench)" in said
    picked = list(records(own_home / "trail.sqlite"))[1].event
    assert picked == ev.ToolsPicked(
        by="Robin",
        picks=(
            ev.Pick(tool="spare", tool_kind="caliper", steps=("wear", "slack", "sides")),
            ev.Pick(tool="lever", tool_kind="torque wrench", steps=("axle_nut",)),
            ev.Pick(tool="bar", tool_kind="torque wrench", steps=("lock_nuts",)),
        ),
    )


def test_without_tools_on_the_command_line_a_plain_session_picks_none(
    own_home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert _played(monkeypatch, own_home, capsys, *PLAIN)[0] == Exit.LEFT_OPEN
    assert not [each for each in records(own_home / "trail.sqlite") if isinstance(each.event, ev.ToolsPicked)]


def test_a_tool_without_a_sheet_or_of_no_use_begins_no_job(
    own_home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, _, said = _played(monkeypatch, own_home, capsys, "start", "--tool", "jaws")
    assert (code, said.startswith("--tool needs SHEET")) == (Exit.BAD_INPUT, True)
    code, _, said = _played(monkeypatch, own_home, capsys, *PLAIN, "--tool", "hammer")
    assert (code, "is no tool in use" in said) == (Exit.BAD_INPUT, True)
    assert not (own_home / "trail.sqlite").exists()

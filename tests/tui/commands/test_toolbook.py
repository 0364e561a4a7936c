"""`tools add`, `list` and `retire` over the in-process air: compared once, then pinned; nothing pinned that was not."""

import asyncio
import json
from collections.abc import Awaitable, Callable
from decimal import Decimal
from pathlib import Path

import pytest

from drivers.profile.profile import parse_profile
from logger.errors import BadInput, EvenhandError, NothingToTalkTo
from logger.toolbook.file import read_toolbook
from logger.toolbook.toolbook import Toolbook
from simulators.air import Air
from simulators.clock import SimClock
from simulators.tools import SimCaliper, SimTool, SimWrench
from tests.tui.reached import LIMIT_S, Talk, args_of, reach_of
from tui.cli import main
from tui.commands.reach import laid_open
from tui.commands.toolbook import add_from
from tui.exits import Exit

CLOCK = SimClock()
READY = "Ready. Measure something"
Deed = Callable[[], Awaitable[None] | None]


def caliper(serial: str = "DC-0417", name: str = "Bench caliper", mm: str = "30.41") -> SimCaliper:
    return SimCaliper(serial, name, lambda: Decimal(mm), CLOCK)


async def adding(talk: Talk, air: Air, deed: Deed, *options: str) -> int:
    """Run `tools add`; once the tool is ready, do something with it."""
    args = args_of("tools", "add", "--by", "Robin", *options)
    async with asyncio.timeout(LIMIT_S), asyncio.TaskGroup() as group:
        work = group.create_task(add_from(talk.shell, args, reach_of(air), talk.typed()))
        await talk.until(READY)
        done = deed()
        if done is not None:
            await done
        try:
            return await work
        except EvenhandError as error:
            raise error from None


async def refused(talk: Talk, air: Air, deed: Deed, *options: str) -> EvenhandError:
    with pytest.raises(ExceptionGroup) as told:
        await adding(talk, air, deed, *options)
    (error,) = told.value.exceptions
    assert isinstance(error, EvenhandError)
    return error


def book(talk: Talk) -> Toolbook:
    return read_toolbook(talk.shell.home.toolbook)


async def test_a_tool_is_pinned_once_its_display_was_compared(tmp_path: Path) -> None:
    tool, talk = caliper(), Talk(tmp_path)
    talk.types("yes", "about right", "0.03 mm", "", "2026-11-01", "2027-11-01", "", "C 12")
    air = Air([tool])
    assert await adding(talk, air, tool.press, "--id", "jaws") == Exit.DONE
    assert (
        talk.out[0] == "1. Bench caliper  -58 dBm  caliper or torque wrench (decided on connecting)  00:00:5E:00:53:00"
    )
    assert "Received: 30.4100 mm. Does the tool's display show this? Type yes or no." in talk.said
    assert any(line.startswith('--accuracy "about right" is not taken: write a number') for line in talk.said)
    (entry,) = book(talk).tool
    assert (entry.id, entry.kind, entry.serial, entry.pin) == ("jaws", "caliper", "DC-0417", "")
    assert (entry.accuracy, entry.resolution, entry.calibrated, entry.due) == (
        "0.03 mm",
        None,
        "2026-11-01",
        "2027-11-01",
    )
    assert (entry.certificate, entry.compared, entry.profile) == ("C 12", "30.4100 mm", "sig-caliper")
    assert (entry.address, entry.model, entry.added_by) == ("00:00:5E:00:53:00", "Sliding gauge 150", "Robin")
    assert tool.peer is None
    assert talk.out[-1].startswith("Added: jaws  caliper  serial DC-0417  accuracy ±0.03 mm")


async def test_without_questions_the_value_said_must_be_the_one_that_came(tmp_path: Path) -> None:
    tool, talk = caliper(), Talk(tmp_path)
    assert await adding(talk, Air([tool]), tool.press, "--yes", "30.410 mm", "--accuracy", "0.03 mm") == Exit.DONE
    (entry,) = book(talk).tool
    assert (entry.id, entry.accuracy, entry.of_reference) == ("caliper-1", "0.03 mm", False)


@pytest.mark.parametrize(("shown", "fits"), [("1.197 in", True), ("1.1972 in", True), ("1.1973 in", False)])
async def test_a_display_in_another_unit_is_compared_to_its_last_digit(tmp_path: Path, shown: str, fits: bool) -> None:
    tool, talk = caliper(), Talk(tmp_path)
    if fits:
        assert await adding(talk, Air([tool]), tool.press, "--yes", shown) == Exit.DONE
    else:
        assert "and its display shows 1.1973 in" in str(await refused(talk, Air([tool]), tool.press, "--yes", shown))
    assert len(book(talk).tool) == fits


@pytest.mark.parametrize("answer", ["no", "", "30.41 mm", "yes but", "12.01"])
async def test_nothing_but_yes_pins_a_tool(tmp_path: Path, answer: str) -> None:
    tool, talk = caliper(), Talk(tmp_path)
    talk.types(answer)
    error = await refused(talk, Air([tool]), tool.press)
    assert "was not added: it sent 30.4100 mm, and its display shows something else" in str(error)
    assert book(talk) == Toolbook()
    assert tool.peer is None


async def test_the_end_of_input_pins_nothing(tmp_path: Path) -> None:
    tool, talk = caliper(), Talk(tmp_path)
    talk.types(None)
    assert "The input ended before" in str(await refused(talk, Air([tool]), tool.press))
    assert not tmp_path.joinpath("toolbook.toml").exists()


async def test_a_wrench_is_compared_by_the_peak_of_a_pull(tmp_path: Path) -> None:
    wrench, talk = SimWrench("TW-2203", "Bench wrench", CLOCK), Talk(tmp_path)

    async def pull() -> None:
        await wrench.pull([Decimal(each) for each in ("0", "20", "41.5", "10", "0")])

    assert await adding(talk, Air([wrench]), pull, "--yes", "41.5 Nm", "--accuracy", "4 %") == Exit.DONE
    (entry,) = book(talk).tool
    assert (entry.id, entry.kind, entry.compared, entry.of_reference) == (
        "torque-wrench-1",
        "torque wrench",
        "41.50 N·m",
        True,
    )


async def test_one_of_several_is_picked_and_the_others_are_left_alone(tmp_path: Path) -> None:
    near, far, talk = caliper(), caliper("DC-2", "Far caliper", "1.00"), Talk(tmp_path)
    far.rssi = -90
    talk.types("2")

    def press() -> None:
        near.press()
        far.press()

    assert await adding(talk, Air([near, far]), press, "--yes", "1 mm") == Exit.DONE
    assert [entry.serial for entry in book(talk).tool] == ["DC-2"]
    assert near.peer is far.peer is None


async def test_a_tool_is_named_by_an_option(tmp_path: Path) -> None:
    near, far, talk = caliper(), caliper("DC-2", "Far caliper"), Talk(tmp_path)
    assert await adding(talk, Air([near, far]), far.press, "--tool", "far", "--yes", "30.41 mm") == Exit.DONE
    assert [entry.serial for entry in book(talk).tool] == ["DC-2"]


@pytest.mark.parametrize(
    ("options", "typed", "words"),
    [
        (["--tool", "bench"], [], "2 devices fit --tool bench: 00:00:5E:00:53:00, 00:00:5E:00:53:01"),
        (["--tool", "other"], [], "No tool 'other' was heard"),
        ([], ["3"], "'3' is not one of the numbers"),
        ([], ["-1"], "is not one of the numbers"),
        ([], ["30.41 mm"], "is not one of the numbers"),
        ([], [None], "The input ended"),
    ],
)
async def test_what_is_not_one_tool_is_refused(
    tmp_path: Path, options: list[str], typed: list[str | None], words: str
) -> None:
    talk, air = Talk(tmp_path), Air([caliper(), caliper("DC-2")])
    talk.types(*typed)
    with pytest.raises(EvenhandError, match=words):
        await add_from(talk.shell, args_of("tools", "add", "--by", "R", *options), reach_of(air), talk.typed())


async def test_a_tool_that_is_in_the_book_is_not_added_again(tmp_path: Path) -> None:
    tool, talk = caliper(), Talk(tmp_path)
    await adding(talk, Air([tool]), tool.press, "--yes", "30.41 mm")
    again = Talk(tmp_path)
    with pytest.raises(BadInput, match="is in the toolbook already, as caliper-1"):
        await add_from(again.shell, args_of("tools", "add", "--by", "R"), reach_of(Air([tool])), again.typed())


async def test_two_that_call_themselves_the_same_are_not_added(tmp_path: Path) -> None:
    one, two, talk = caliper("SAME"), caliper("SAME"), Talk(tmp_path)
    talk.types("1")

    async def second() -> None:
        await asyncio.sleep(0)

    assert "2 devices in reach call themselves SAME" in str(await refused(talk, Air([one, two]), second))
    assert book(talk) == Toolbook()


async def test_a_tool_without_a_serial_number_is_known_by_its_name(tmp_path: Path) -> None:
    tool, talk = caliper(""), Talk(tmp_path)
    assert await adding(talk, Air([tool]), tool.press, "--yes", "30.41 mm") == Exit.DONE
    (entry,) = book(talk).tool
    assert (entry.serial, entry.pin) == ("", "Bench caliper")
    assert any("tells no serial number" in line for line in talk.said)


async def test_nothing_in_reach_is_told(tmp_path: Path) -> None:
    talk = Talk(tmp_path)
    with pytest.raises(NothingToTalkTo, match="tools learn"):
        await add_from(talk.shell, args_of("tools", "add", "--by", "R"), reach_of(Air()), talk.typed())


async def test_hostile_names_become_no_more_than_text(tmp_path: Path) -> None:
    tool: SimTool = caliper("\x1b[2J[red]", "caliper\u202e")
    assert isinstance(tool, SimCaliper)
    talk = Talk(tmp_path)
    assert await adding(talk, Air([tool]), tool.press, "--yes", "30.41 mm") == Exit.DONE
    assert book(talk).tool[0].serial == "[2J[red]"  # the drivers take controls out of what a tool tells


# --- by hand, list, retire ------------------------------------------------------------------------------------------


def test_a_tool_without_a_radio_is_entered_listed_and_retired(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = ["--home", str(tmp_path)]
    assert main(["tools", "list", *home]) == Exit.DONE
    assert "There is no tool in" in capsys.readouterr().err
    hand = ["tools", "add", "--hand", "rule", "--by", "Robin", *home]
    assert main([*hand, "--accuracy", "0.1 mm", "--resolution", "0.5 mm", "--due", "2020-01-01"]) == Exit.DONE
    assert main([*hand, "--id", "wrench", "--hand", "setting wrench", "--accuracy", "4 %", "--serial", "S 1"]) == 0
    assert main(["tools", "retire", "rule-1", "bent", "and", "worn", "--by", "Robin", *home]) == Exit.DONE
    capsys.readouterr()
    assert main(["tools", "list", *home]) == Exit.DONE
    first, second = capsys.readouterr().out.splitlines()
    assert first == "wrench  setting wrench  serial S 1  accuracy ±4 % of the true value  calibration not stated"
    assert second.startswith("rule-1  rule  no identity  accuracy ±0.1 mm  step 0.5 mm  RETIRED 20")
    assert second.endswith("by Robin: bent and worn")
    assert main(["tools", "list", "--json", *home]) == Exit.DONE
    told = json.loads(capsys.readouterr().out)
    assert [(entry["id"], entry["calibration"]["state"]) for entry in told] == [
        ("wrench", "not stated"),
        ("rule-1", "overdue"),
    ]
    assert told[1]["retired"]["why"] == "bent and worn"


def test_a_keyboard_tool_is_entered_with_the_profile_that_says_how_it_types(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "profiles").mkdir()
    (tmp_path / "profiles" / "typing.toml").write_text(TYPING)
    add = ["tools", "add", "--by", "Robin", "--home", str(tmp_path), "--profile", "typing-caliper"]
    assert main([*add, "--hand", "caliper", "--id", "jaws"]) == Exit.DONE
    (entry,) = read_toolbook(tmp_path / "toolbook.toml").tool
    assert (entry.id, entry.kind, entry.profile, entry.identity) == ("jaws", "caliper", "typing-caliper", "")
    assert main([*add, "--hand", "tape"]) == Exit.BAD_INPUT
    assert "names no profile of a tape that acts as a keyboard" in capsys.readouterr().err
    assert main(add) == Exit.BAD_INPUT
    assert "--profile is for a tool without a radio" in capsys.readouterr().err


@pytest.mark.parametrize("written", ["0.5mm", "0.5 mm", " 0.5  mm "])
def test_an_amount_is_taken_with_or_without_a_space(tmp_path: Path, written: str) -> None:
    add = ["tools", "add", "--by", "Robin", "--home", str(tmp_path), "--hand", "rule", "--accuracy", "4%"]
    assert main([*add, "--resolution", written]) == Exit.DONE
    (entry,) = read_toolbook(tmp_path / "toolbook.toml").tool
    assert (entry.resolution, entry.accuracy) == ("0.5 mm", "4 %")


async def test_a_tool_that_a_pedal_reads_is_compared_by_what_it_streams(tmp_path: Path) -> None:
    tool, talk = caliper(), Talk(tmp_path)
    args = args_of("tools", "add", "--by", "Robin", "--yes", "30.41 mm")
    reach = reach_of(Air([tool]), laid_open((parse_profile(PEDAL, "pedal.toml"),)))
    async with asyncio.timeout(LIMIT_S), asyncio.TaskGroup() as group:
        work = group.create_task(add_from(talk.shell, args, reach, talk.typed()))
        await talk.until(READY)
        tool.press()
        assert await work == Exit.DONE
    assert [(entry.serial, entry.profile) for entry in book(talk).tool] == [("DC-0417", "pedal-caliper")]


TYPING = """
profile = "typing-caliper"
kind = "caliper"
[[values]]
decode = "typed"
role = "reading"
pattern = "{number}"
picture = "+0000.00"
unit = "mm"
"""
PEDAL = """
profile = "pedal-caliper"
kind = "caliper"
capture = "pedal"
[recognise]
name = "^Bench"
[[values]]
decode = "sig"
role = "reading"
characteristic = "2c0a"
"""


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["add"], "--by"),
        (["add", "--by", ""], "--by needs 1 to 64"),
        (
            ["add", "--by", "R", "--hand", "hammer"],
            '--hand "hammer" is no kind of tool that is known here. Write one of',
        ),
        (["add", "--by", "R", "--kind", "hammer"], '--kind "hammer" is not taken: write one of caliper, depth gauge'),
        (["add", "--by", "R", "--hand", "rule", "--resolution", "0,5"], "is not taken: write a number with its unit"),
        (["add", "--by", "R", "--hand", "rule", "--yes", "1 mm"], "--yes has no meaning beside --hand"),
        (
            ["add", "--by", "R", "--hand", "rule", "--accuracy", "0,1 mm"],
            '--accuracy "0,1 mm" is not taken: write a number',
        ),
        (["add", "--by", "R", "--hand", "rule", "--accuracy", "1 N·m"], "accuracy 1 N·m is no length"),
        (
            ["add", "--by", "R", "--hand", "rule", "--due", "soon"],
            '--due "soon" is not taken: write a day as YYYY-MM-DD',
        ),
        (["add", "--by", "R", "--hand", "rule", "--id", "a b"], '--id "a b" is not taken: write letters, digits'),
        (["add", "--by", "R", "--seconds", "0"], "--seconds 0 is out of range"),
        (["add", "--by", "R", "--yes", "30"], "has no unit"),
        (["add", "--by", "R", "--due", "2027-02-30"], "no day of the calendar"),
        (["retire", "none", "why", "--by", "R"], "No tool in use has the id 'none'"),
        (["retire", "none", " ", "--by", "R"], "WHY needs"),
    ],
)
def test_what_is_wrong_is_told_before_anything_is_scanned(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str], says: str
) -> None:
    assert main(["tools", *words, "--home", str(tmp_path)]) == Exit.BAD_INPUT
    told = capsys.readouterr().err
    assert says in told
    assert "Traceback" not in told
    assert list(tmp_path.glob("toolbook.toml")) == []

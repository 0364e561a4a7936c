"""The two calculators of the command line: every refusal, any size of figure, and as processes."""

import json
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

from tests.tui.commands.calculated import M8, TEETH, TORQUE
from tui import cli
from tui.exits import Exit

# --- refusals -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("advise", "required: --thread, --slack, --aim. See: evenhand advise --help"),
        ("judge", "required: --window, --value. See: evenhand judge --help"),
        ("advise --thread 1mm --slack 40mm --aim 32mm", "--front-teeth, --rear-teeth, --pitch, --centre missing. Give"),
        (f"advise {TEETH} --span 600mm --thread 1mm --slack 40mm --aim 32mm", "--span was given beside teeth"),
        ("advise --front-teeth 17 --thread 1mm --slack 4mm --aim 3mm", "--rear-teeth, --pitch, --centre missing"),
        (f"{M8} --slack 40mm --aim 32mm --left 36mm", "--left was given without --right. Read both"),
        (f"{M8} --slack 40mm --aim 32mm --right 36mm", "--right was given without --left. Read both"),
        (f"{M8} --slack 40mm --aim 32mm --if-right 1", "--if-right was given without --if-left. Give both"),
        (
            f"{M8} --slack 40mm --aim 32mm --if-left 1/0 --if-right 1",
            "--if-left: '1/0' is not a number of flats. Write",
        ),
        (f"{M8} --slack 40mm --aim 32mm --if-left 1e9 --if-right 1", "--if-left: '1e9' is not a number of flats."),
        (f"{M8} --slack 40 --aim 32mm", "--slack: '40' has no unit. Allowed: mm"),
        (f"{M8} --slack 40Nm --aim 32mm", "--slack: N·m is a torque and mm is a length"),
        (f"{M8} --slack 40,5mm --aim 32mm", "--slack: '40,5mm' is not a quantity. Write a point"),
        (f"{M8} --slack -1mm --aim 32mm", "Slack at the tightest place is -1 mm. It cannot be below zero"),
        (f"{M8} --slack 40mm --aim -1mm", "--aim -1mm is below zero."),
        (f"{M8} --slack 40mm --aim 32mm --window 40mm 25mm", "--window: The window 40 mm to 25 mm is upside down."),
        (f"{M8} --slack 40mm --aim 32mm --window 40mm", "expected 2 arguments"),
        (f"{M8} --slack 40mm --aim 32mm --flats-per-turn 0", "--flats-per-turn 0 is out of range."),
        (f"{M8} --slack 40mm --aim 32mm --pitch 0mm", "--pitch 0mm is not above zero."),
        (f"{M8} --slack 40mm --aim 32mm --thread -1mm", "--thread -1mm is not above zero."),
        (f"{M8} --slack 40mm --aim 32mm --rear-teeth 4", "--rear-teeth 4 is out of range."),
        (f"{M8} --slack 40mm --aim 32mm --centre 100mm", "touch. It must be more than 149.4 mm."),
        (f"{M8} --slack 40mm --aim 32mm --grows sideways", "invalid choice: 'sideways'"),
        (f"{TORQUE} --value 93mm", "--window: N·m is a torque and mm is a length"),
        (f"{TORQUE} --value 93", "--value: '93' has no unit."),
        (f"{TORQUE} --value 93Nm --accuracy 2%", "--u is the whole uncertainty, yet --accuracy was given too."),
        (f"{TORQUE} --value 93Nm --guard 1Nm --decision simple", "--guard was given with --decision simple"),
        (f"{TORQUE} --value 93Nm --guard -1Nm", "--guard -1Nm is below zero."),
        ("judge --window 90Nm 106Nm --value 93Nm --accuracy -2%", "--accuracy: -2% is negative. Write"),
        ("judge --window 90Nm 106Nm --value 93Nm --accuracy 100%", "--accuracy: A torque accuracy of 100% says"),
        ("judge --window 90Nm 106Nm --value 93Nm --resolution 1%", "--resolution: % is a share and N·m is a torque"),
    ],
)
def test_bad_input_is_one_sentence_and_a_remedy(capsys: pytest.CaptureFixture[str], line: str, says: str) -> None:
    assert cli.main(line.split()) == Exit.BAD_INPUT
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err
    assert err.count("\n") == 1


UNSIGNED = st.just("")


LARGE = st.sampled_from(["0.00000000001", "0.001", "1", "7.5", "40", "640", "99999", "999999999999"])


@st.composite
def lines(draw: st.DrawFn) -> list[str]:
    def mm(sign: SearchStrategy[str] = UNSIGNED) -> str:
        return f"{draw(sign)}{draw(LARGE)}mm"

    signs = st.sampled_from(["", "-"])
    if draw(st.booleans()):
        words = ["judge", "--window", mm(signs), mm(), "--value", mm(signs), "--accuracy", draw(LARGE) + "%"]
        return [*words, "--resolution", mm(), "--decision", draw(st.sampled_from(["simple", "guarded"]))]
    run = ["--span", mm()] if draw(st.booleans()) else [*TEETH.split(), "--centre", mm()]
    words = ["advise", *run, "--thread", mm(), "--slack", mm(), "--aim", mm(), "--window", mm(), mm()]
    return [*words, "--left", mm(signs), "--right", mm(signs), "--agree-within", mm()]


@settings(deadline=None, max_examples=40, derandomize=True)
@given(lines(), st.booleans())
def test_no_size_of_figure_is_a_fault(words: list[str], as_json: bool) -> None:
    assert cli.main([*words, *(["--json"] if as_json else [])]) in (Exit.DONE, Exit.BAD_INPUT)


# --- as a process ---------------------------------------------------------------------------------------------------


def run(line: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "tui.cli", *shlex.split(line)], capture_output=True, text=True)


def test_as_processes_they_answer_and_touch_no_trail(own_home: Path) -> None:
    turned = run(f"{M8} --slack 40mm --aim 32mm --json")
    assert (turned.returncode, turned.stderr) == (0, "")
    assert json.loads(turned.stdout)["expected"]["slack_mm"] == pytest.approx(32.595, abs=0.006)
    outside = run(f"{TORQUE} --value 80Nm --json")
    assert (outside.returncode, outside.stderr) == (0, "")
    assert json.loads(outside.stdout)["verdict"] == "low"
    wrong = run(f"{TORQUE} --value 80")
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert wrong.stderr.startswith("--value: '80' has no unit.")
    assert not list(own_home.iterdir())

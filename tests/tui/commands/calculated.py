"""The two calculators of the command line as their tests run them, and figures to run them on."""

import json
import shlex
from typing import Any

import pytest

from tui import cli
from tui.exits import Exit

TEETH = "--front-teeth 17 --rear-teeth 42 --pitch 15.875mm --centre 650mm"
M8 = f"advise {TEETH} --thread 1.25mm"
TORQUE = "judge --window 90Nm 106Nm --u 1.2Nm"
FLAT = 1.25 / 6


def answer(capsys: pytest.CaptureFixture[str], line: str) -> dict[str, Any]:
    assert cli.main([*shlex.split(line), "--json"]) == Exit.DONE
    found = json.loads(capsys.readouterr().out)
    assert isinstance(found, dict)
    return found


def plain(capsys: pytest.CaptureFixture[str], line: str) -> str:
    assert cli.main(shlex.split(line)) == Exit.DONE
    out, err = capsys.readouterr()
    assert err == ""
    return out

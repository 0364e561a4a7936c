"""--voice and [voice]: silent unless asked for; a whole job goes on beside a voice that nothing can hear."""

import argparse
from pathlib import Path

import pytest

from logger.settings.settings import Home
from logger.shelf.shelf import load_job
from tui.cli import main
from tui.session.speaking import speaking


def _args(*, voice: bool) -> argparse.Namespace:
    return argparse.Namespace(voice=voice)


def test_it_is_silent_unless_asked_for(tmp_path: Path) -> None:
    home = Home(tmp_path)
    assert speaking(home, _args(voice=False)) == ()
    assert len(speaking(home, _args(voice=True))) == 1
    (tmp_path / "settings.toml").write_text("[voice]\non = true\n")
    assert len(speaking(home, _args(voice=False))) == 1


def test_a_whole_job_goes_on_where_nothing_speaks(
    own_home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("PATH", str(own_home))
    assert main(["demo", "--auto", "--plain", "--seed", "7", "--voice"]) == 0
    said = capsys.readouterr().out
    assert said.count("Warning: No voice: espeak-ng is not installed.") == 1
    assert load_job(own_home / "trail.sqlite", "j1")[0].closed


def test_a_whole_job_goes_on_beside_a_program_that_speaks(own_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    said = own_home / "said"
    program = own_home / "espeak-ng"
    program.write_text(f"#!/bin/sh\n/bin/cat >> {said}\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(own_home))
    assert main(["demo", "--auto", "--plain", "--seed", "7", "--voice"]) == 0
    assert "Chain" in said.read_text()

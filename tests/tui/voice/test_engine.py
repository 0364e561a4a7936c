"""The speech engine: found or named as missing, speaks to a file, is silent at once, and leaves nothing behind."""

import array
import asyncio
import os
import shutil
import sys
import wave
from pathlib import Path

import pytest

from tui.voice import engine
from tui.voice.aloud import quantity_aloud
from tui.voice.engine import Mute, Program, espeak, find_engine

ESPEAK = shutil.which("espeak-ng")
needs_espeak = pytest.mark.skipif(ESPEAK is None, reason="espeak-ng is not installed")


def _which(*there: str) -> object:
    return lambda name: f"/usr/bin/{name}" if name in there else None


@pytest.mark.parametrize(
    ("there", "platform", "begins"),
    [
        (("espeak-ng", "espeak"), "linux", "/usr/bin/espeak-ng"),
        (("espeak",), "linux", "/usr/bin/espeak"),
        (("say",), "darwin", "/usr/bin/say"),
    ],
)
def test_the_engine_of_a_system(there: tuple[str, ...], platform: str, begins: str) -> None:
    found = find_engine("en-gb", 165, which=_which(*there), platform=platform)  # type: ignore[arg-type]
    assert found.command[0] == begins
    assert "165" in found.command


@pytest.mark.parametrize(("there", "platform"), [((), "linux"), (("say",), "linux"), (("espeakng",), "win32")])
def test_where_there_is_no_engine_it_is_said(there: tuple[str, ...], platform: str) -> None:
    with pytest.raises(Mute, match="espeak-ng is not installed"):
        find_engine(which=_which(*there), platform=platform)  # type: ignore[arg-type]


def test_without_words_for_numbers_there_is_no_voice(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "find_spec", lambda _: None)
    with pytest.raises(Mute, match="extra voice"):
        find_engine(which=_which("espeak-ng"))  # type: ignore[arg-type]


@needs_espeak
async def test_speech_goes_into_a_file_and_is_not_silent(tmp_path: Path) -> None:
    path = tmp_path / "said.wav"
    assert ESPEAK is not None
    await espeak(ESPEAK, more=("-w", str(path))).speak(f"high: {quantity_aloud('45.0', 'mm')}")
    with wave.open(str(path)) as sound:
        samples = array.array("h", sound.readframes(sound.getnframes()))
        seconds = sound.getnframes() / sound.getframerate()
    loud = max(abs(sample) for sample in samples)
    assert 0.8 < seconds < 6
    assert loud > 3000  # of 32767; silence would be 0
    assert sum(abs(sample) > 500 for sample in samples) > len(samples) / 10


@needs_espeak
async def test_a_text_is_no_option_and_no_command(tmp_path: Path) -> None:
    """Its text comes on stdin: it can neither name a file nor reach a shell."""
    path, other = tmp_path / "said.wav", tmp_path / "other.wav"
    assert ESPEAK is not None
    await espeak(ESPEAK, more=("-w", str(path))).speak(f"-w {other} $(touch {other})")
    assert path.exists()
    assert not other.exists()


def _script(body: str) -> Program:
    return Program((sys.executable, "-c", body))


async def test_what_is_said_comes_on_stdin(tmp_path: Path) -> None:
    path = tmp_path / "heard"
    await _script(f"import sys; open({str(path)!r}, 'w').write(sys.stdin.read())").speak("thirty-six point two")
    assert path.read_text() == "thirty-six point two"


async def test_cutting_ends_the_process(tmp_path: Path) -> None:
    path = tmp_path / "pid"
    body = f"import os, time; f = {str(path)!r}; open(f + '.new', 'w').write(str(os.getpid()))\n"
    body += "os.rename(f + '.new', f); time.sleep(600)"  # speech that would go on: it is cut, never waited for
    async with asyncio.TaskGroup() as group:
        speech = group.create_task(_script(body).speak("never heard to its end"))
        while not path.exists():  # noqa: ASYNC110  (another process makes it)
            await asyncio.sleep(0)
        speech.cancel()
    with pytest.raises(ProcessLookupError):
        os.kill(int(path.read_text()), 0)


@pytest.mark.parametrize(
    ("body", "why"),
    [
        ("import sys; sys.stderr.write('cannot find card 0\\nerror: No such file or directory\\n')", "No such file"),
        ("raise SystemExit(3)", "code 3"),
    ],
)
async def test_an_engine_that_cannot_be_heard_says_so(body: str, why: str) -> None:
    with pytest.raises(Mute, match=why):
        await _script(body).speak("anything")


async def test_an_engine_that_went_away_says_so() -> None:
    with pytest.raises(Mute, match="No such file"):
        await Program(("/nowhere/espeak-ng",)).speak("anything")

"""The speech engine of the system: a program that says what comes on its stdin, a process for each sentence."""

import asyncio
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from typing import Protocol

NO_ENGINE = "espeak-ng is not installed"
NO_WORDS = "num2words is not installed: it comes with the extra voice"
LANGUAGE = "en-gb"
SPEED = 165
"""Words a minute."""
_MOST_COMPLAINT = 4000
"""Octets of what an engine complains of that are looked at."""


class Mute(Exception):  # noqa: N818  (it is no fault of the program)
    """The engine cannot be heard."""


class Engine(Protocol):
    """Something that speaks."""

    async def speak(self, text: str) -> None:
        """Say one sentence to its end; silent at once when cancelled. Mute when it cannot be heard."""
        ...


@dataclass(frozen=True, slots=True)
class Program:
    """A speech engine of the system: a program that says what comes on its stdin."""

    command: tuple[str, ...]

    async def speak(self, text: str) -> None:
        """Say one sentence; the process is killed when cancelled, and waited for. Mute when it is not heard."""
        sentence = _Sentence(self.command, text.encode())
        # in a thread: not even the making of a process may hold up the loop
        said = asyncio.get_running_loop().run_in_executor(None, sentence.say)
        try:
            code, complaint = await asyncio.shield(said)
        except asyncio.CancelledError:
            sentence.cut()
            await asyncio.wait({said})
            said.exception()  # of what was cut nobody has to know how it failed
            raise
        except OSError as error:
            raise Mute(error.strerror or str(error)) from error
        why = _why(complaint[:_MOST_COMPLAINT].decode(errors="replace"))
        if code or why:
            told = why.partition(":")[2].strip() or f"it ended with code {code}"
            raise Mute(f"the speech engine cannot be heard ({told})")


class _Sentence:
    """One process, made and waited for in one thread and cut from another."""

    def __init__(self, command: tuple[str, ...], text: bytes) -> None:
        self._command, self._text = command, text
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._cut = False

    def say(self) -> tuple[int, bytes]:
        """Run it to its end, or until it is cut; its exit code, and what it complained of."""
        pipe, nothing = subprocess.PIPE, subprocess.DEVNULL
        with self._lock:
            if self._cut:
                return 0, b""
            self._process = subprocess.Popen(self._command, stdin=pipe, stdout=nothing, stderr=pipe)
        complaint = self._process.communicate(self._text)[1]
        return self._process.returncode, complaint

    def cut(self) -> None:
        """Be silent at once."""
        with self._lock:
            self._cut = True
            if self._process is not None:
                self._process.kill()


def _why(complaint: str) -> str:
    """What went wrong: espeak-ng without a sound device ends as if it had spoken, and says so on stderr only."""
    return next((line for line in complaint.splitlines() if line.lower().startswith("error")), "")


def espeak(path: str, *, language: str = LANGUAGE, speed: int = SPEED, more: Sequence[str] = ()) -> Program:
    """Return espeak-ng as an engine, at so many words a minute; plain text, so that nothing in it is a command."""
    return Program((path, "-v", language, "-s", str(speed), "-b", "1", *more, "--stdin"))


def find_engine(
    language: str = LANGUAGE,
    speed: int = SPEED,
    *,
    which: Callable[[str], str | None] = shutil.which,
    platform: str = sys.platform,
) -> Program:
    """Return the engine of this system; Mute with the reason where it has none, or nothing to say numbers with."""
    if find_spec("num2words") is None:
        raise Mute(NO_WORDS)
    for name in ("espeak-ng", "espeak"):
        if (path := which(name)) is not None:
            return espeak(path, language=language, speed=speed)
    if platform == "darwin" and (path := which("say")) is not None:
        return Program((path, "-r", str(speed), "-f", "-"))
    raise Mute(NO_ENGINE)

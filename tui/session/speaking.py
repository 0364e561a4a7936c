"""The voice as a service beside a job, where it is asked for; the job never waits for it."""

import argparse
import os
from contextlib import suppress
from functools import partial

from logger.settings.file import load_settings
from logger.settings.settings import Home
from tui.services import Service

_STDERR = 2


def speaking(home: Home, args: argparse.Namespace) -> tuple[Service, ...]:
    """Return the service that speaks, for --voice or where the settings have it on; none otherwise."""
    settings = load_settings(home.folder).voice
    if not (args.voice or settings.on):
        return ()
    from tui.voice.engine import find_engine  # noqa: PLC0415  (late on purpose: a silent job loads none of it)
    from tui.voice.voice import voice_service  # noqa: PLC0415

    return (voice_service(partial(find_engine, settings.language, settings.speed), _ring),)


def _ring() -> None:
    """Ring the bell of a terminal; line by line there is no screen that would."""
    if os.isatty(_STDERR):
        with suppress(OSError):
            os.write(_STDERR, b"\a")

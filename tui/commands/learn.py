"""`tools learn` and `tools profile check`: how a tool speaks, from a capture; what a profile makes of its frames."""

import argparse
import json
import re
import shlex
from collections.abc import Iterable
from pathlib import Path

from drivers.decode.check import broken, hear
from drivers.profile.fields import MAX_FRAME
from drivers.profile.file import read_profile
from drivers.profile.profile import ProfileError
from logger.errors import BadInput
from logger.learn.capture import MAX_OCTETS, read_capture
from logger.learn.learn import Fit, Lesson, learn
from logger.learn.profile import describe, doubts, profile_text
from tui.exits import Exit
from tui.shell import Shell

FEW = 8
"""Frames of a fit that are listed for a person; a machine gets all."""


def learn_from(shell: Shell, args: argparse.Namespace) -> int:
    """Learn from a capture, or live where none is given, and write a profile; BadInput when no way of reading fits."""
    if args.capture is None:
        from .learnlive import learn_live  # noqa: PLC0415  (a capture needs no radio)

        return learn_live(shell, args)
    for flag, value in (("--tool", args.tool), ("--keep", args.keep)):
        if value is not None:
            raise BadInput(f"{flag} has no meaning beside --from.", "Leave one of them out.")
    path = Path(args.capture)
    lesson = learn(read_capture(_text(path, MAX_OCTETS), path.name))
    if args.json:
        shell.write(json_text(lesson))
        _warn(shell, lesson)
    else:
        for line in told(lesson):
            shell.out(line)
    if not lesson.fits:
        raise BadInput(lesson.refusal, lesson.ask.say if lesson.ask else "")
    if args.out is None:
        _say_unwritten(shell, lesson, args.name)
        return Exit.DONE
    name = args.name or ""
    write_profile(shell, Path(args.out), profile_of(lesson, name, profile_name(name)), name, replace=args.force)
    return Exit.DONE


def _say_unwritten(shell: Shell, lesson: Lesson, name: str | None) -> None:
    """Say that a capture alone writes no profile, and how one is written where enough is known for it."""
    unused = "" if name is None else " (--name is for a profile)"
    if len(lesson.fits) > 1 or lesson.fits[0].known < 2:
        shell.say(f"Nothing was written{unused}: too little is known for a profile.")
    else:
        named = "" if name is not None else "; --name TEXT says what the tool advertises as its name"
        own = shell.home.profiles / f"{profile_name(name or '')}.toml"
        shell.say(f"Nothing was written{unused}. To write the profile, add: --out {shlex.quote(str(own))}{named}.")


def write_profile(shell: Shell, path: Path, text: str, advertised: str, *, replace: bool) -> None:
    """Write a learned profile and say where, and whether it is in use there; the folder of the home's profiles is made.

    BadInput when it cannot be written.
    """
    own = path.absolute().parent == shell.home.profiles.absolute()
    write_out(path, text, replace=replace, makes_folder=own)
    shell.say(f"Written: {path}")
    if not advertised:
        shell.say("It recognises no tool by itself: add --name with what the tool advertises, or [recognise] to it.")
    use = "The tool is read by it from now on" if own else f"Put it into {shell.home.profiles} to use it"
    if advertised or not own:
        shell.say(f"{use}; pin the tool with: evenhand tools add --by NAME")


def _warn(shell: Shell, lesson: Lesson) -> None:
    """Tell a person beside the JSON answer what is not settled, though one way of reading is left."""
    for line in doubts(lesson.fits[0]) if len(lesson.fits) == 1 else ():
        shell.say(line)


def json_text(lesson: Lesson) -> str:
    """Return the JSON answer as text."""
    return json.dumps(as_json(lesson), ensure_ascii=False, indent=2) + "\n"


def as_json(lesson: Lesson) -> dict[str, object]:
    """Return what was learned as the JSON answer: always an object, `decodes` with every measurement frame."""
    fits = [
        {
            "characteristic": fit.characteristic,
            "description": describe(fit),
            "decodes": {lesson.frames[place].hex: said for place, said in fit.readings.items()},
        }
        for fit in lesson.fits
    ]
    return {"fits": fits, "ask_next": _ask(lesson)}


def _ask(lesson: Lesson) -> dict[str, object] | None:
    if lesson.ask is None:
        return None
    frame = None if lesson.ask.place is None else lesson.frames[lesson.ask.place]
    return {
        "say": lesson.ask.say,
        "characteristic": frame.characteristic if frame else None,
        "hex": frame.hex if frame else None,
        "line": frame.line if frame else None,
        "readings": list(lesson.ask.readings),
    }


def told(lesson: Lesson) -> Iterable[str]:
    """Yield what was learned, for a person."""
    for number, fit in enumerate(lesson.fits, 1):
        yield f"{number}. {fit.characteristic}: {describe(fit)}"
        yield from _examples(lesson, fit)
    if lesson.fits and lesson.ask is not None:
        yield lesson.ask.say


def _examples(lesson: Lesson, fit: Fit) -> Iterable[str]:
    for place, said in list(fit.readings.items())[:FEW]:
        frame = lesson.frames[place]
        yield f"   {frame.hex[:48]}{'…' if len(frame.hex) > 48 else ''}  {said}{'  (shown)' if frame.shown else ''}"
    if len(fit.readings) > FEW:
        yield f"   and {len(fit.readings) - FEW} more"
    mine = sum(frame.uuid == fit.uuid(lesson.frames) for frame in lesson.frames)
    if mine > len(fit.readings):
        yield f"   {_counted(mine - len(fit.readings), 'frame is', 'frames are')} another kind of message, set aside"
    yield from (f"   {line}" for line in doubts(fit))


def _counted(number: int, one: str, more: str) -> str:
    return f"{number} {one if number == 1 else more}"


def profile_of(lesson: Lesson, advertised: str, name: str = "learned-tool") -> str:
    """Return the profile of the one way of reading left; BadInput when it is not one, or rests on too little."""
    if len(lesson.fits) > 1:
        raise BadInput(f"{len(lesson.fits)} ways of reading are left, so no profile was written.", "Add a reading.")
    if lesson.fits[0].known < 2:
        raise BadInput("One known value is not enough for a profile.", "Add a reading that is clearly different.")
    return profile_text(lesson, lesson.fits[0], name, advertised)


def profile_name(advertised: str) -> str:
    """Return a name for the profile of a tool with this advertised name."""
    slug = re.sub(r"[^a-z0-9]+", "-", advertised.lower()).strip("-")[:48].rstrip("-")
    return slug if re.match(r"[a-z]", slug) else "learned-tool"


def check(shell: Shell, args: argparse.Namespace) -> int:
    """Check a profile by its own vectors, or show what it reads in a payload."""
    try:
        profile = read_profile(Path(args.file))
    except (ProfileError, ValueError) as error:
        raise BadInput(str(error), "" if isinstance(error, ProfileError) else "Check its path.") from error
    if args.payload is not None:
        heard = hear(profile, _octets(args.payload))
        for each in heard:
            shell.out(f"{each}  ({each.role}, {each.characteristic})")
        if not heard:
            raise BadInput("No value of this profile can be read without the tool's own descriptors.", "")
        return Exit.DONE
    faults = broken(profile)
    if faults:
        do = "does" if len(faults) == 1 else "do"
        raise BadInput(f"{len(faults)} of {len(profile.vector)} vectors {do} not hold: {faults[0]}.", "Learn it again.")
    values = _counted(len(profile.values), "value", "values")
    vectors = _counted(len(profile.vector), "vector holds", "vectors hold")
    shell.out(f"{profile.profile}: {values}, {vectors}")
    return Exit.DONE


def _octets(text: str) -> bytes:
    digits = "".join(text.split()).replace(":", "").removeprefix("0x")
    try:
        octets = bytes.fromhex(digits)
    except ValueError:
        raise BadInput("--payload is not octets in hexadecimal.", "Write it such as --payload e10b00.") from None
    if not 1 <= len(octets) <= MAX_FRAME:
        raise BadInput(f"--payload has {_counted(len(octets), 'octet', 'octets')}.", f"Give 1 to {MAX_FRAME}.")
    return octets


def _text(path: Path, most: int) -> str:
    """Read a file, but no more of it than could be a capture (a device never ends)."""
    try:
        if not path.is_file():
            raise BadInput(f"There is no capture file {path}.", "Check its path.")
        with path.open("rb") as file:
            return file.read(most + 1).decode("utf-8")
    except UnicodeDecodeError:
        raise BadInput(f"{path.name} is not UTF-8 text.", "A capture is one JSON object a line.") from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"{path} cannot be read: {why}.", "Check its path.") from error


def write_out(path: Path, text: str, *, replace: bool, makes_folder: bool = False) -> None:
    """Write a file that is not there yet, or replace it; BadInput when it cannot be."""
    try:
        if path.exists() and path.stat().st_size and not replace:
            raise BadInput(f"{path} is there already.", "Name another file, or add --force to replace it.")
        if makes_folder:
            path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"{path} cannot be written: {why}.", "Name another file with --out.") from error

"""`tools learn` live: a tool in reach is heard and its display asked for, until one way of reading is left."""

import argparse
import asyncio
from pathlib import Path

from drivers.radio.ble import RadioUnavailableError, Seen
from drivers.radio.overhear import overhearing
from drivers.radio.peer import LinkError
from drivers.radio.supervise import next_step
from logger.errors import BadInput, NothingToTalkTo
from logger.learn.learn import Lesson
from logger.learn.talk import CONFIRM, HELP, Talk, is_settled, lesson_of
from logger.toolbook.profiles import profile_path
from tui.entry.typed_lines import STDIN, TypedLines
from tui.exits import Exit
from tui.session.ending import until_signal
from tui.shell import Shell

from .learn import json_text, profile_name, profile_of, told, write_out, write_profile
from .reach import Lines, Reach, heard_in, pick, real_reach
from .tools import seconds_of

AGAIN = 99
"""Told as at a failure that has gone on for long: a person is waiting."""


def learn_live(shell: Shell, args: argparse.Namespace) -> int:
    """Learn from a tool in reach and write its profile; BadInput when one way of reading is not left."""
    seconds_of(args.seconds, "--seconds")
    return until_signal(learn_from_reach(shell, args, real_reach(shell.home), TypedLines(STDIN)))


async def learn_from_reach(shell: Shell, args: argparse.Namespace, reach: Reach, typed: Lines) -> int:
    """Scan, pick, hear and ask; the frames are kept where --keep says so, whatever came of them.

    NothingToTalkTo without a radio or a device.
    """
    shell.say(f"Listening for {args.seconds} s ...")
    heard = await heard_in(reach, args.seconds)
    if not heard:
        raise NothingToTalkTo(
            "Nothing at all was heard.",
            "Switch the tool on, bring it nearer, and try again; "
            "or it is still linked to another program: switch it off and on.",
        )
    seen = await pick(shell, heard, args.tool, typed)
    talk = Talk()
    try:
        lesson = await _converse(shell, reach, seen, talk, typed)
    finally:
        if args.keep is not None and talk.rows:
            write_out(Path(args.keep), talk.capture(), replace=args.force)
            shell.say(f"Frames kept: {args.keep}")
    if lesson is not None:
        return _finish(shell, args, seen, lesson)
    shell.say("Nothing was written.")
    return Exit.DONE


def _finish(shell: Shell, args: argparse.Namespace, seen: Seen, lesson: Lesson) -> int:
    if args.json:
        shell.write(json_text(lesson))
    if not lesson.fits:
        raise BadInput(lesson.refusal, lesson.ask.say if lesson.ask else "")
    name = profile_name(args.name or seen.name)
    path = profile_path(shell.home.profiles, name) if args.out is None else Path(args.out)
    text = profile_of(lesson, args.name or seen.name, name)
    write_profile(shell, path, text, args.name or seen.name, replace=args.force)
    return Exit.DONE


# --- hearing --------------------------------------------------------------------------------------------------------


async def _listen(shell: Shell, reach: Reach, seen: Seen, talk: Talk) -> None:
    """Hear the tool for ever, over as many links as it takes."""
    failed = 0
    while True:
        try:
            async with overhearing(await reach.find(seen.address), reach.clock) as frames:
                failed = 0
                shell.say(f"Linked to {seen.name or seen.address}. {HELP}")
                while (frame := await frames.take()) is not None:
                    line = talk.heard(frame.uuid, frame.payload, frame.at.mono_ns)
                    if line is not None:
                        shell.out(line)
            shell.say("The tool went away; press its button and it is picked up again by itself.")
        except LinkError as error:
            failed += 1
            step = next_step(error.end, failed)
            shell.say(next_step(error.end, AGAIN).message)
            await asyncio.sleep(min(step.wait_s, 4.0))
        except RadioUnavailableError as error:
            shell.say(str(error))


# --- asking ---------------------------------------------------------------------------------------------------------


async def _converse(shell: Shell, reach: Reach, seen: Seen, talk: Talk, typed: Lines) -> Lesson | None:
    """Ask until one way of reading is left or the person is done; None when they quit."""
    async with asyncio.TaskGroup() as group:
        hearing = group.create_task(_listen(shell, reach, seen, talk), name="frames")
        finished, lesson = await _answers(shell, talk, typed)
        hearing.cancel()
    if not finished or lesson is not None:
        return lesson
    if not talk.rows:
        raise NothingToTalkTo("No frame was heard from the tool.", "Press its button; some tools send only then.")
    return await asyncio.to_thread(lesson_of, talk.capture())


async def _answers(shell: Shell, talk: Talk, typed: Lines) -> tuple[bool, Lesson | None]:
    """Return whether the person wants a profile, and what was learned where that is settled."""
    async for line in typed:
        word = line.strip().lower()
        if word in ("quit", "done"):
            return word == "done", None
        try:
            lesson = await _said(shell, talk, line.strip(), word)
        except BadInput as error:
            shell.say(f"Not taken: {error}")
            continue
        if lesson is not None and is_settled(lesson):
            return True, lesson
    return True, None


async def _said(shell: Shell, talk: Talk, line: str, word: str) -> Lesson | None:
    """Take one line; return what is known after it, or None where that has not changed."""
    if word in ("", "help"):
        shell.say(HELP)
        return None
    if word == "skip":
        talk.skip()
        return None
    shell.say(talk.back() if word == "back" else talk.answer(line))
    lesson = await asyncio.to_thread(lesson_of, talk.capture())
    for each in told(lesson):
        shell.out(each)
    if len(lesson.fits) == 1 and lesson.ask is None and not is_settled(lesson):
        shell.say(CONFIRM)
    if not lesson.fits:
        shell.say(lesson.refusal)
        shell.say("If an answer went to the wrong frame: back, then name the frame, such as #7 30.41 mm.")
    return lesson

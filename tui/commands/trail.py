"""`verify` and `trail backup`: what the trail shows, and a copy of it; neither writes to the trail."""

import argparse

from logger.errors import BadInput
from logger.settings.settings import expanded
from logger.trail.anchor import Anchor, as_text
from logger.trail.backup import backup as copy_trail
from logger.trail.keys import load_key
from logger.trail.proof import Noted, noted, prove
from tui.exits import Exit
from tui.shell import Shell


def verify(shell: Shell, args: argparse.Namespace) -> int:
    """Check the trail of the home, with --against also its head; say what that shows and what it cannot."""
    against = _against(shell, args.against)
    proof = prove(shell.home.trail, against, _own_key(shell))
    found = proof.verified
    shell.out(f"Trail {found.trail} at {shell.home.trail}")
    for text in proof.wrong:
        shell.out(f"WRONG: {text}")
    for text in proof.shown:
        shell.out(f"Shown: {text}")
    for text in proof.not_shown if not proof.wrong else ():
        shell.out(f"Not shown: {text}")
    for text in proof.told:
        shell.out(f"Note: {text}")
    if proof.wrong:
        shell.say("Keep the file aside untouched, and compare it with a backup or the shop's copy.")
        return Exit.DAMAGED
    if found.count:
        head = Anchor(found.head_seq, bytes.fromhex(found.head_hash), found.trail)
        shell.out(f"The head in words: {head.words}")
        for line in _code(head) if args.qr else ():
            shell.out(line)
    return Exit.DONE


def _code(head: Anchor) -> tuple[str, ...]:
    from logger.trail.anchorqr import qr_lines  # noqa: PLC0415  (late on purpose: few ask for the code)

    return (as_text(head), *qr_lines(head))


def _against(shell: Shell, given: str | None) -> Noted | None:
    if given is None:
        return None
    if given != "shop":
        return noted(given)
    from .shop import kept_head  # noqa: PLC0415  (late on purpose: it brings the database)

    return Noted(kept_head(shell.home), "what the shop keeps")


def _own_key(shell: Shell) -> bytes:
    try:
        return load_key(shell.home.key).public
    except BadInput as error:
        if shell.home.key.exists():
            shell.say(str(error))
        return b""


def backup(shell: Shell, args: argparse.Namespace) -> int:
    """Make a copy of the trail as one file."""
    home = shell.home
    out = expanded(args.out) if args.out is not None else home.folder / "trail-backup.sqlite"
    made = copy_trail(home.trail, out)
    head = Anchor(made.found.head_seq, bytes.fromhex(made.found.head_hash), made.found.trail)
    shell.out(f"{made.found.count} events copied and read back: {made.path}")
    if made.found.count:
        shell.out(f"The head in words: {head.words}")
    if args.out is None:
        shell.say("It lies on the disk of the trail itself; with --out FILE it can go to another.")
    return Exit.DONE

"""`sheets`: the shipped ones, and a check of one's own."""

import argparse

from logger.sheets.store import open_sheet, shipped, shipped_text
from tui.exits import Exit
from tui.shell import Shell


def names(shell: Shell, _: argparse.Namespace) -> int:
    """List the shipped sheets with their titles."""
    for name in shipped():
        sheet = open_sheet(name).sheet
        shell.out(f"{name}: {sheet.title}, revision {sheet.revision}. {sheet.about}")
    return Exit.DONE


def show(shell: Shell, args: argparse.Namespace) -> int:
    """Print a shipped sheet."""
    for line in shipped_text(args.name).decode().splitlines():
        shell.out(line)
    return Exit.DONE


def check(shell: Shell, args: argparse.Namespace) -> int:
    """Check a sheet file; what is wrong with it is raised as BadInput."""
    loaded = open_sheet(args.file if args.file.endswith(".toml") or "/" in args.file else f"./{args.file}")
    for warning in loaded.warnings:
        shell.say(f"Warning: {warning}")
    sheet = loaded.sheet
    shell.out(f"{sheet.id}: {len(sheet.step)} steps, {len(sheet.checks)} checks, sha256 {loaded.sha256}")
    return Exit.DONE

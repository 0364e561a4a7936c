"""`sheets`: the shipped ones, and a check of one's own."""

import argparse

from logger.settings.settings import Home
from logger.sheets.file import Loaded
from logger.sheets.store import open_sheet, shipped, shipped_text
from tui.exits import Exit

from .shell import Shell


def sheet_named(home: Home, name: str) -> Loaded:
    """Load a shipped sheet by its name, one of the home's own by that of its file, or a file by its path."""
    own = home.sheets / f"{name}.toml"
    is_name = not name.endswith(".toml") and not any(mark in name for mark in "/\\")
    return open_sheet(str(own) if is_name and name not in shipped() and own.is_file() else name)


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

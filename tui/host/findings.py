"""What `doctor` makes of what it found: one finding a fact, with its fix; pure functions over probed facts."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

Level = Literal["fine", "warning", "error"]
LEVELS: tuple[Level, ...] = ("fine", "warning", "error")
"""From best to worst: an error keeps tools or the trail from working, a warning is to be seen to."""

LEAST_BLUEZ = (5, 55)
"""What the radio library asks for (bleak, since 1.0)."""
TESTED_SQLITE = (3, 40)
"""The oldest that the trail was tested with."""
LEAST_FREE = 100 << 20
LITTLE_FREE = 500 << 20
"""Bytes: as a session has them, before it begins a job and before it warns."""
LEAST_SIZE = (40, 12)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was looked at."""

    check: str
    level: Level
    said: str
    fix: str = ""
    """What to do; empty only where it is fine."""


@dataclass(frozen=True, slots=True)
class Kill:
    """One switch of the kernel that keeps a radio silent."""

    name: str
    soft: bool
    hard: bool


@dataclass(frozen=True, slots=True)
class AdapterFact:
    """One Bluetooth adapter."""

    name: str
    address: str
    powered: bool


@dataclass(frozen=True, slots=True)
class HomeFact:
    """The folder where data lives."""

    path: str
    trouble: str = ""
    """Why nothing can be written there; empty when it can."""
    remote: str = ""
    """What kind of mount it lies on, where that is no disk of this machine."""
    free: int | None = None
    """Bytes that can still be written."""


@dataclass(frozen=True, slots=True)
class TerminalFact:
    """What is on the other end of stdout."""

    is_terminal: bool
    columns: int = 0
    rows: int = 0
    environment: Mapping[str, str] | None = None
    """TERM, COLORTERM, NO_COLOR, LC_ALL, LC_CTYPE, LANG: those that are set."""

    def of(self, name: str) -> str:
        """Return a variable, empty where it is not set."""
        return (self.environment or {}).get(name, "")


# --- Bluetooth ------------------------------------------------------------------------------------------------------


_BUS: dict[str, tuple[str, str]] = {
    "no socket": (
        "There is no system bus at {address}.",
        "Install and start it (apt-get install dbus bluez; systemctl start dbus bluetooth); in a container, "
        "pass the host's /run/dbus in.",
    ),
    "denied": (
        "The bus at {address} does not let this user talk to Bluetooth.",
        "Run: sudo usermod -aG bluetooth $USER, then log in again; in a container set BLEAK_DBUS_AUTH_UID to "
        "the user's number on the host.",
    ),
    "no service": ("The Bluetooth service does not run.", "Run: sudo systemctl enable --now bluetooth"),
}
"""What was answered in place of "ok" -> what that means, and what to do."""
_SILENT = "The bus at {address} or its Bluetooth service does not answer.", "Run: sudo systemctl restart bluetooth"


def bus(answer: str, address: str) -> Finding:
    """Say how the system bus and the Bluetooth service answer; `answer` is one of drivers.radio.serviceprobe.Answer."""
    if answer == "ok":
        return Finding("bus", "fine", f"The Bluetooth service answers on {address}.")
    said, fix = _BUS.get(answer, _SILENT)
    return Finding("bus", "error", said.format(address=address), fix)


def adapters(found: Sequence[AdapterFact] | None, chosen: str = "") -> Finding:
    """Say whether there is an adapter that is switched on; None where nobody could be asked.

    `chosen` is the address that the settings name: then it is that one that has to be there, and on.
    """
    if found is None:
        return Finding("adapter", "warning", "Adapters cannot be asked for.", "See to what is said of the bus first.")
    if not found:
        return Finding("adapter", "error", "There is no Bluetooth adapter.", "Plug one in, or see: lsusb; dmesg")
    told = ", ".join(f"{a.name} {a.address} {'on' if a.powered else 'off'}" for a in found)
    used = [each for each in found if chosen.casefold() in ("", each.address.casefold())]
    if not used:
        said = f"The adapter of the settings, {chosen}, is not there: {told}."
        return Finding("adapter", "error", said, "Plug it in, or change adapter in [radio] of settings.toml.")
    if not any(each.powered for each in used):
        return Finding("adapter", "error", f"Bluetooth is switched off: {told}.", "Run: bluetoothctl power on")
    return Finding("adapter", "fine", f"Bluetooth adapters: {told}.")


def rfkill(found: Sequence[Kill]) -> Finding:
    """Say whether a switch of the kernel keeps Bluetooth silent."""
    hard = [each.name for each in found if each.hard]
    soft = [each.name for each in found if each.soft]
    if hard:
        return Finding(
            "rfkill",
            "error",
            f"A switch on the machine blocks {', '.join(hard)}.",
            "Find the key or switch for radios.",
        )
    if soft:
        return Finding("rfkill", "error", f"{', '.join(soft)} is blocked.", "Run: rfkill unblock bluetooth")
    return Finding("rfkill", "fine", "No switch blocks Bluetooth.")


def bluez(version: str | None) -> Finding:
    """Say whether BlueZ is new enough; `version` is what bluetoothctl says of itself."""
    found = _numbers(version or "")
    if not found:
        return Finding(
            "bluez",
            "warning",
            "The version of BlueZ is not known: bluetoothctl did not tell it.",
            "Install it: apt-get install bluez",
        )
    if found < LEAST_BLUEZ:
        return Finding("bluez", "error", f"BlueZ is {_dotted(found)}; 5.55 is needed.", "Update the system's bluez.")
    return Finding("bluez", "fine", f"BlueZ is {_dotted(found)}.")


# --- where data lives -----------------------------------------------------------------------------------------------


def sqlite(version: str) -> Finding:
    """Say whether SQLite is new enough."""
    if _numbers(version) < TESTED_SQLITE:
        return Finding(
            "sqlite",
            "warning",
            f"SQLite is {version}; the oldest that the trail was tested with is 3.40.",
            "Use a newer Python, or update libsqlite3.",
        )
    return Finding("sqlite", "fine", f"SQLite is {version}.")


def home(fact: HomeFact) -> Finding:
    """Say whether data can be kept at home."""
    if fact.trouble:
        return Finding(
            "home", "error", f"{fact.path} cannot be written: {fact.trouble}.", "Name another folder with --home DIR."
        )
    if fact.remote:
        return Finding(
            "home",
            "error",
            f"{fact.path} lies on a {fact.remote} mount, where a trail can be damaged.",
            "Choose a folder on a disk of this machine with --home, and hand on copies instead.",
        )
    return Finding("home", "fine", f"{fact.path} can be written.")


def disk(fact: HomeFact) -> Finding:
    """Say whether there is room."""
    if fact.free is None:
        return Finding("disk", "warning", "How much room the disk has is not known.", "See to the home folder first.")
    told = f"{fact.free >> 20} MiB are free for {fact.path}"
    if fact.free < LEAST_FREE:
        return Finding("disk", "error", f"{told}: too little to begin a job.", "Make room for 500 MiB.")
    if fact.free < LITTLE_FREE:
        return Finding("disk", "warning", f"{told}.", "Make room for 500 MiB soon.")
    return Finding("disk", "fine", f"{told}.")


def clock(synchronised: bool | None) -> Finding:
    """Say whether the clock is kept right by another one."""
    if synchronised:
        return Finding("clock", "fine", "The clock is synchronised.")
    if synchronised is None:
        return Finding(
            "clock", "warning", "Whether the clock is synchronised is not known.", "Compare it with another clock."
        )
    return Finding(
        "clock",
        "warning",
        "The clock is not synchronised; times on the trail may be wrong (their order is not).",
        "Run: sudo timedatectl set-ntp true",
    )


def broker(on: bool, where: str, trouble: str) -> Finding:
    """Say whether the broker of the shop can be reached; `trouble` is why not, empty when it can."""
    if trouble and not on:
        return Finding("broker", "error", trouble, "Repair settings.toml in the home folder.")
    if not on:
        return Finding("broker", "fine", "This bench shares nothing with a shop.")
    if trouble:
        return Finding(
            "broker",
            "warning",
            f"The broker {where} is not reached: {trouble}.",
            "Check host and port in settings.toml and the network; jobs go on, and are sent later.",
        )
    return Finding("broker", "fine", f"The broker {where} is reached.")


def toolbook(trouble: str, overdue: Sequence[str], count: int) -> Finding:
    """Say whether the toolbook can be used and whether a calibration is overdue."""
    if trouble:
        return Finding("toolbook", "error", trouble, "Repair it; no job begins with a toolbook that cannot be read.")
    if overdue:
        return Finding(
            "toolbook",
            "warning",
            f"Calibration is overdue: {', '.join(overdue)}.",
            "Have it calibrated, or take it out of use: evenhand tools retire ID WHY --by NAME",
        )
    return Finding("toolbook", "fine", f"Tools in use in the toolbook: {count}.")


# --- the terminal ---------------------------------------------------------------------------------------------------


def size(fact: TerminalFact) -> Finding:
    """Say whether the screen has room."""
    if not fact.is_terminal:
        return Finding("size", "fine", "stdout is no terminal; jobs go line by line with --plain.")
    told = f"The terminal has {fact.columns} columns and {fact.rows} rows"
    if fact.columns < LEAST_SIZE[0] or fact.rows < LEAST_SIZE[1]:
        return Finding("size", "warning", f"{told}; the screen needs 40 and 12.", "Enlarge it, or use --plain.")
    return Finding("size", "fine", f"{told}.")


def colours(fact: TerminalFact) -> Finding:
    """Say what colours there are; every verdict is a word and a shape all the same."""
    if not fact.is_terminal:
        return Finding("colours", "fine", "No terminal, no colours.")
    if fact.of("TERM") in ("", "dumb", "unknown"):
        return Finding(
            "colours", "warning", f"TERM is {fact.of('TERM') or 'not set'}: no screen can be drawn.", "Use --plain."
        )
    if fact.of("NO_COLOR"):
        return Finding("colours", "fine", "NO_COLOR is set: no colours; verdicts are words and shapes.")
    many = "24 bits" if fact.of("COLORTERM") in ("truecolor", "24bit") else "256" if "256" in fact.of("TERM") else "few"
    return Finding("colours", "fine", f"Colours: {many} (TERM {fact.of('TERM')}).")


def encoding(fact: TerminalFact) -> Finding:
    """Say whether the terminal is likely to show µ, · and shapes."""
    stated = fact.of("LC_ALL") or fact.of("LC_CTYPE") or fact.of("LANG")
    if not fact.is_terminal or "utf-8" in stated.lower() or "utf8" in stated.lower():
        return Finding("encoding", "fine", f"UTF-8 ({stated or 'no terminal'}).")
    return Finding(
        "encoding",
        "warning",
        f"The locale {stated or '(none)'} does not say UTF-8; shapes and units may not show.",
        "Run: export LANG=C.UTF-8, in a terminal that is set to UTF-8",
    )


def worst(findings: Sequence[Finding]) -> Level:
    """Return the worst level of all."""
    return max((each.level for each in findings), key=LEVELS.index, default="fine")


def _numbers(version: str) -> tuple[int, ...]:
    found = re.search(r"([0-9]{1,4})\.([0-9]{1,4})", version)
    return (int(found[1]), int(found[2])) if found else ()


def _dotted(numbers: tuple[int, ...]) -> str:
    return ".".join(map(str, numbers))

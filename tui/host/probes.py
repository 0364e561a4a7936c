"""What `doctor` looks at on this host; nothing is changed, and whatever cannot be looked at is told as not known."""

import asyncio
import contextlib
import ctypes
import os
import sqlite3
import sys
import tempfile
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from logger.errors import BadInput, NotStored
from logger.settings.file import ShopSettings, load_settings
from logger.settings.settings import Home
from logger.toolbook.calibration import calibration
from logger.toolbook.file import read_toolbook
from logger.toolbook.profiles import profiles_of
from logger.trail.file import refuse_remote

from .findings import AdapterFact, HomeFact, Kill, TerminalFact

BUS = "DBUS_SYSTEM_BUS_ADDRESS"
USUAL_BUS = "unix:path=/run/dbus/system_bus_socket"
_SHOWN = ("TERM", "COLORTERM", "NO_COLOR", "LC_ALL", "LC_CTYPE", "LANG")
_LIMIT_S = 5.0
_TIME_ERROR = 5
"""What adjtimex(2) returns while the clock is not synchronised."""
_TIMEX_OCTETS = 512
"""More than its structure has on any Linux; all zero asks without setting anything."""


class Host(Protocol):
    """What the doctor needs of a host; a test has one of its own."""

    def bus_address(self) -> str:
        """Where the system bus is looked for."""
        ...

    async def bus_answer(self) -> str:
        """How the Bluetooth service answers."""
        ...

    async def adapters(self) -> Sequence[AdapterFact] | None:
        """The Bluetooth adapters; None where nobody can be asked."""
        ...

    def chosen_adapter(self) -> str:
        """The address of the adapter that the settings name; empty: any."""
        ...

    def kills(self) -> Sequence[Kill]:
        """The kernel's switches for Bluetooth."""
        ...

    async def bluez(self) -> str | None:
        """What BlueZ says of its version."""
        ...

    def sqlite(self) -> str:
        """The version of SQLite."""
        ...

    def home(self) -> HomeFact:
        """Where data lives."""
        ...

    def synchronised(self) -> bool | None:
        """Whether the clock is kept right."""
        ...

    async def broker(self) -> tuple[bool, str, str]:
        """Whether there is to be one, where, and why it is not reached."""
        ...

    def toolbook(self) -> tuple[str, Sequence[str], int]:
        """Why it cannot be used, the tools whose calibration is overdue, how many are in use."""
        ...

    def terminal(self) -> TerminalFact:
        """What is on the other end of stdout."""
        ...


class ThisHost:
    """The machine that the program runs on."""

    def __init__(self, home: Home, environment: Mapping[str, str], sys_folder: Path = Path("/sys")) -> None:
        self._home = home
        self._environment = environment
        self._sys = sys_folder

    def bus_address(self) -> str:
        """Return where the radio library looks for the system bus."""
        return self._environment.get(BUS) or USUAL_BUS

    async def bus_answer(self) -> str:
        """Ask the Bluetooth service."""
        if sys.platform != "linux":
            return "no socket"
        from drivers.radio.serviceprobe import ask_service  # noqa: PLC0415  (what it speaks is there on Linux only)

        return await ask_service()

    async def adapters(self) -> Sequence[AdapterFact] | None:
        """Return the adapters that the Bluetooth service knows; None where it cannot be asked."""
        from drivers.radio.adapters import adapters  # noqa: PLC0415  (as above)

        found = await adapters()
        return None if found is None else [AdapterFact(each.name, each.address, each.powered) for each in found]

    def kills(self) -> Sequence[Kill]:
        """Read the kernel's switches from sysfs; none where it has none."""
        return [
            Kill(_text(each / "name"), _text(each / "soft") == "1", _text(each / "hard") == "1")
            for each in sorted((self._sys / "class" / "rfkill").glob("rfkill*"))
            if _text(each / "type") == "bluetooth"
        ]

    async def bluez(self) -> str | None:
        """Ask bluetoothctl for its version, as the radio library does; None where it does not tell."""
        with contextlib.suppress(OSError, TimeoutError):
            process = await asyncio.create_subprocess_exec(
                *("bluetoothctl", "--version"),
                stdin=asyncio.subprocess.DEVNULL,
                stdout=asyncio.subprocess.PIPE,
                stderr=asyncio.subprocess.DEVNULL,
            )
            try:
                async with asyncio.timeout(_LIMIT_S):
                    return (await process.communicate())[0].decode(errors="replace")
            finally:
                if process.returncode is None:
                    process.kill()
                    await process.wait()
        return None

    def sqlite(self) -> str:
        """Return the version of the library that Python uses."""
        return sqlite3.sqlite_version

    def home(self) -> HomeFact:
        """Look at the home, or at the folder that it would be made in; a file is written and taken away again."""
        path = self._home.folder
        place = next(each for each in (path, *path.parents) if each.is_dir())
        try:
            disk = os.statvfs(place)
            with tempfile.TemporaryFile(dir=place) as file:
                file.write(b"evenhand")
                file.flush()
        except OSError as error:
            return HomeFact(str(path), error.strerror or str(error))
        return HomeFact(str(path), remote=_remote(place.resolve()), free=disk.f_bavail * disk.f_frsize)

    def synchronised(self) -> bool | None:
        """Ask the kernel whether something keeps the clock right; None where it does not say."""
        with contextlib.suppress(OSError, AttributeError):
            state = ctypes.CDLL(None, use_errno=True).adjtimex(ctypes.create_string_buffer(_TIMEX_OCTETS))
            return None if state < 0 else state != _TIME_ERROR
        return None

    def chosen_adapter(self) -> str:
        """Read the settings; what is wrong with them is told where the broker is looked for."""
        try:
            return load_settings(self._home.folder).radio.adapter
        except BadInput:
            return ""

    async def broker(self) -> tuple[bool, str, str]:
        """Read the settings and knock at the broker's door."""
        try:
            shop = load_settings(self._home.folder).shop
        except BadInput as error:
            return False, "", error.message
        where = f"{shop.host}:{shop.port}"
        return shop.on, where, await _knock(shop) if shop.on else ""

    def toolbook(self) -> tuple[str, Sequence[str], int]:
        """Read toolbook and profiles."""
        try:
            profiles_of(self._home.profiles)
            tools = read_toolbook(self._home.toolbook).active
        except BadInput as error:
            return error.message, (), 0
        day = datetime.now(tz=UTC).astimezone().date()
        return "", [each.id for each in tools if calibration(each, day).state == "overdue"], len(tools)

    def terminal(self) -> TerminalFact:
        """Look at stdout."""
        shown = {name: self._environment[name] for name in _SHOWN if name in self._environment}
        try:
            size = os.get_terminal_size(sys.stdout.fileno())
        except (OSError, ValueError):
            return TerminalFact(False, environment=shown)
        return TerminalFact(True, size.columns, size.lines, shown)


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace").strip()
    except OSError:
        return ""


def _remote(place: Path) -> str:
    """Return the kind of mount where it is a network or FUSE one; empty where it is not, or nobody can say."""
    mounts = _text(Path("/proc/self/mountinfo"))
    try:
        refuse_remote(place, mounts)
    except NotStored as error:
        return error.message.partition(" lies on a ")[2].partition(" mount")[0] or "network"
    return ""


async def _knock(shop: ShopSettings) -> str:
    """Connect and hang up; return why that failed."""
    try:
        async with asyncio.timeout(_LIMIT_S):
            _, writer = await asyncio.open_connection(shop.host, shop.port)
    except TimeoutError:
        return "no answer"
    except OSError as error:
        return error.strerror or str(error)
    writer.close()
    return ""

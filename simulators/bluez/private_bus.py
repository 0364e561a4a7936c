"""A D-Bus daemon of one's own, in a temporary folder: the host's own bus is never touched."""

import asyncio
import os
import shutil
import tempfile
from pathlib import Path
from types import TracebackType
from typing import Self

DAEMON = "dbus-daemon"
ADDRESS = "DBUS_SYSTEM_BUS_ADDRESS"
"""Names the bus that bleak takes for the system's."""
END_S = 5.0

# the limits are far above what the daemon allows by itself, so that a flood of notifications measures the clients
_CONFIG = """<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig>
  <listen>unix:path={socket}</listen>
  <auth>EXTERNAL</auth>
  <policy context="default">
    <allow send_destination="*" eavesdrop="true"/>
    <allow eavesdrop="true"/>
    <allow own="*"/>
  </policy>
  <limit name="max_incoming_bytes">1000000000</limit>
  <limit name="max_outgoing_bytes">1000000000</limit>
  <limit name="max_message_size">1000000000</limit>
  <limit name="max_replies_per_connection">50000</limit>
</busconfig>
"""

_BLUETOOTHCTL = "#!/bin/sh\necho 'bluetoothctl: 5.72'\n"


def missing() -> str:
    """Say why there can be no private bus here; empty when there can."""
    return "" if shutil.which(DAEMON) else f"{DAEMON} is not installed (Debian: apt-get install dbus)"


class PrivateBus:
    """A running dbus-daemon; use as an async context manager, which also ends it."""

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="evenhand-bus-"))
        self._process: asyncio.subprocess.Process | None = None
        self.address = f"unix:path={self.folder / 'bus'}"

    async def __aenter__(self) -> Self:
        config = self.folder / "bus.conf"
        config.write_text(_CONFIG.format(socket=self.folder / "bus"), encoding="utf-8")
        stub = self.folder / "bluetoothctl"  # bleak asks it for the version of BlueZ
        stub.write_text(_BLUETOOTHCTL, encoding="utf-8")
        stub.chmod(0o755)
        self._process = await asyncio.create_subprocess_exec(
            DAEMON,
            f"--config-file={config}",
            "--nofork",
            "--nopidfile",
            "--print-address",
            stdin=asyncio.subprocess.DEVNULL,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.DEVNULL,  # it complains that it may not raise its limits
        )
        assert self._process.stdout is not None
        if not await self._process.stdout.readline():  # the address: the socket is there
            await self.__aexit__(None, None, None)
            raise RuntimeError(f"{DAEMON} did not start")
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._process is not None:
            await ended(self._process)
        shutil.rmtree(self.folder, ignore_errors=True)

    def environ(self) -> dict[str, str]:
        """Return what a process needs in its environment to take this bus for the system's."""
        return {ADDRESS: self.address, "PATH": f"{self.folder}{os.pathsep}{os.environ.get('PATH', os.defpath)}"}


async def ended(process: asyncio.subprocess.Process) -> None:
    """End a process by asking, then by force; returns when it is gone."""
    if process.returncode is None:
        process.terminate()
        try:
            async with asyncio.timeout(END_S):
                await process.wait()
        except TimeoutError:
            process.kill()
    await process.wait()

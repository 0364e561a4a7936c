"""Real servers for tests, each on a loopback port of its own and ended with the test: mosquitto and PostgreSQL."""

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

LONG_S = 20.0
"""Far more than any of this takes; what is not there by then never will be."""
PATH = f"{os.environ.get('PATH', '')}:/usr/sbin:/usr/local/sbin"


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def answers(port: int) -> bool:
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=1):
            return True
    except OSError:
        return False


def until_answers(port: int, process: subprocess.Popen[bytes]) -> None:
    give_up = time.monotonic() + LONG_S
    while not answers(port):
        assert process.poll() is None, f"ended with {process.returncode}"
        assert time.monotonic() < give_up, "it does not answer"
        time.sleep(0.01)  # between two questions to a process that is starting, before there is a loop to wait in


def mosquitto_program() -> str | None:
    return shutil.which("mosquitto", path=PATH)


@dataclass
class Mosquitto:
    """One broker: started, killed and started again, with or without what it kept."""

    folder: Path
    lines: list[str] = field(default_factory=lambda: ["allow_anonymous true"])
    persistent: bool = False
    port: int = field(default_factory=free_port)
    process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        program = mosquitto_program()
        assert program is not None
        kept = [f"persistence_location {self.folder}/", "persistence true", "autosave_on_changes true"]
        kept += ["autosave_interval 50"]
        text = "\n".join(
            [
                f"listener {self.port} 127.0.0.1",
                "set_tcp_nodelay true",  # else each acknowledgement waits 40 ms for the one before it
                *(["user root"] if os.geteuid() == 0 else []),
                *(kept if self.persistent else ["persistence false"]),
                *self.lines,
            ]
        )
        config = self.folder / "mosquitto.conf"
        config.write_text(text + "\n")
        with (self.folder / "mosquitto.log").open("ab") as log:
            self.process = subprocess.Popen([program, "-c", str(config)], stdout=log, stderr=log)
        until_answers(self.port, self.process)

    def kill(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process = None

    def pause(self) -> None:
        """The network is cut both ways: nothing is refused, nothing arrives."""
        assert self.process is not None
        self.process.send_signal(signal.SIGSTOP)

    def go_on(self) -> None:
        assert self.process is not None
        self.process.send_signal(signal.SIGCONT)


@contextlib.contextmanager
def mosquitto(folder: Path, lines: list[str] | None = None, *, persistent: bool = False) -> Iterator[Mosquitto]:
    broker = Mosquitto(folder, lines or ["allow_anonymous true"], persistent)
    broker.start()
    try:
        yield broker
    finally:
        broker.kill()


def postgres_folder() -> Path | None:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if found:
        return found[-1].parent
    here = shutil.which("initdb")
    return Path(here).parent if here else None


@contextlib.contextmanager
def postgres() -> Iterator[str]:
    """Start a PostgreSQL that listens on loopback alone, and give the URL of its server, without a database."""
    programs = postgres_folder()
    assert programs is not None
    folder = Path(tempfile.mkdtemp(prefix="evenhand-pg-"))
    owner = "postgres" if os.geteuid() == 0 else None  # it refuses to run as root
    if owner:
        shutil.chown(folder, owner)
    port = free_port()
    data = folder / "data"
    made = [
        str(programs / "initdb"),
        "-D",
        str(data),
        "-A",
        "trust",
        "-U",
        "evenhand",
        "-N",
        "-E",
        "UTF8",
        "--locale=C",
    ]
    subprocess.run(made, check=True, user=owner, stdout=subprocess.DEVNULL, cwd=folder)
    run = [str(programs / "postgres"), "-D", str(data), "-h", "127.0.0.1", "-p", str(port), "-k", str(folder)]
    with (folder / "log").open("ab") as log:
        process = subprocess.Popen(run, user=owner, stdout=log, stderr=log, cwd=folder)
    try:
        until_answers(port, process)
        yield f"postgresql://evenhand@127.0.0.1:{port}"
    finally:
        process.send_signal(signal.SIGINT)  # its fast shutdown
        process.wait()
        shutil.rmtree(folder, ignore_errors=True)

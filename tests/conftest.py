"""What every test lives in: a home folder of its own, and no skips where none are allowed."""

import os
import signal
from pathlib import Path

import pytest

# A runner started by nohup or in the background hands on ignored signals, which our processes would keep ignoring.
signal.signal(signal.SIGHUP, signal.SIG_DFL)
signal.signal(signal.SIGTERM, signal.SIG_DFL)
signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_xdist_auto_num_workers() -> int:
    """One worker more than cores: many tests wait for processes, links and the disk."""
    return 1 + (os.cpu_count() or 1)


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep tests away from the developer's own trail, colours and time zone."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("EVENHAND_HOME", str(home))
    for name in ("NO_COLOR", "COLORTERM", "TEXTUAL", "LC_ALL"):
        monkeypatch.delenv(name, raising=False)
    return home


_skipped: list[str] = []


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Remember what was skipped."""
    if report.skipped and not hasattr(report, "wasxfail"):
        _skipped.append(f"{report.nodeid}: {report.longrepr}")


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Where no skips are allowed, a run with any has failed."""
    if os.environ.get("EVENHAND_NO_SKIPS") and _skipped:
        print("\nSkipped where nothing may be skipped:", *_skipped, sep="\n  ")  # noqa: T201
        session.exitstatus = pytest.ExitCode.TESTS_FAILED

"""What every test lives in: a home folder of its own, no task left behind, and no skips where none are allowed."""

import asyncio
import inspect
import os
import signal
from collections.abc import AsyncIterator
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


@pytest.fixture
async def nothing_left_running() -> AsyncIterator[None]:
    """Fail a test that leaves a task behind; one that was told to end may still be about it."""
    yield
    left = [task for task in asyncio.all_tasks() if task is not asyncio.current_task() and not task.cancelling()]
    assert [task.get_name() for task in left] == []


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the watch over tasks around every async test, outside all its other fixtures; plain tests need no loop."""
    for item in items:
        if isinstance(item, pytest.Function) and inspect.iscoroutinefunction(item.function):
            item.fixturenames.insert(0, "nothing_left_running")


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

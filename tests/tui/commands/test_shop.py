"""The shop by its commands: collected, shown, read at the shop, held against, watched."""

import contextlib
import io
import json
import shutil
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from textual.widgets import DataTable

from logger.collector.store import Store
from logger.collector.tables import open_database
from logger.collector.view import EMPTY
from logger.shop.outboxtrail import TrailSource
from logger.shop.topics import BenchTopics
from logger.shop.wire import BenchState, JobNow, pack
from logger.shop.wireport import Message
from logger.trail.head import note_path
from tests.collect.air import Air, FakeBroker
from tests.collect.made import SHOP, chain, sent
from tests.collect.servers import mosquitto, mosquitto_program
from tests.tui.hostile import HOSTILE
from tui.apps.shopwatch import ShopWatch, cells, watch_lines
from tui.cli import main

WORDS = ["start", "courier-chain", "--machine", "Depot 7", "--by", "Robin", "--plain", "--no-radio"]


def run(home: Path, *args: str, given: str = "") -> subprocess.CompletedProcess[str]:
    program = [sys.executable, "-m", "tui.cli", "--home", str(home), *args]
    return subprocess.run(program, input=given, capture_output=True, text=True, timeout=60)


def here(home: Path, *args: str) -> tuple[int, str, str]:
    """Run a command in this process, which has all it needs loaded already."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(["--home", str(home), *args])
    return code, out.getvalue(), err.getvalue()


def keep(home: Path, bench: str = "bay-1") -> None:
    """Put the whole trail of a home into the shop's store in the same home."""
    source = TrailSource(home / "trail.sqlite")
    engine = open_database(str(home / "shop.sqlite"))
    messages = [sent(event, bench, source.trail) for event in source.after(0, 10_000)]
    Store(engine, SHOP, lambda: "2025-01-01T00:00:00Z").take(messages)
    engine.dispose()


def cut(path: Path, events: int) -> None:
    """Cut events off the end of a trail, as one would who knows how it is kept."""
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for (trigger,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {trigger}")
        (last,) = connection.execute("SELECT max(seq) FROM events").fetchone()
        for table in ("signatures", "job_events", "events"):
            connection.execute(f"DELETE FROM {table} WHERE seq > ?", (last - events,))
    note_path(path).unlink()


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bench")
    run(folder, *WORDS, given="note 12480\nquit\n")
    keep(folder)
    return folder


def test_what_is_kept_is_listed(home: Path) -> None:
    code, out, _ = here(home, "shop", "show")
    assert code == 0
    assert "bay-1" in out
    told = json.loads(here(home, "shop", "show", "--json")[1])
    assert [kept["bench"] for kept in told["kept"]] == ["bay-1"]
    assert told["alarms"] == []


@pytest.mark.parametrize("words", [["jobs"], ["replay", "last", "--plain"], ["record", "last"], ["verify"]])
def test_commands_say_the_same_at_the_shop_as_at_the_bench(home: Path, words: list[str]) -> None:
    at_bench, at_shop = here(home, *words), here(home, *words, "--shop", "bay-1")
    assert at_shop[0] == at_bench[0] == 0
    assert "Bench bay-1" in at_shop[2]
    if words[0] == "record":  # the shop cannot sign for the bench
        ours, theirs = (json.loads(each[1]) for each in (at_bench, at_shop))
        for head in (ours["head"], theirs["head"]):
            del head["key"], head["signature"]
        assert ours == theirs
    elif words[0] != "verify":  # it names the file
        assert at_shop[1] == at_bench[1]


def test_without_a_name_every_bench_is_told(home: Path) -> None:
    assert "Depot 7" in here(home, "jobs", "--shop")[1]
    assert here(home, "jobs", "--shop", "bay-9")[0] == 2


def test_a_recall_at_the_shop_only_looks(home: Path) -> None:
    code, _, err = here(home, "recall", "TW-1", "--error", "+3 %", "--shop", "bay-1")
    assert code == 2
    assert "--look" in err


def test_a_trail_is_held_against_what_the_shop_keeps(home: Path, tmp_path: Path) -> None:
    code, out, _ = here(home, "verify", "--against", "shop")
    assert code == 0
    assert "what the shop keeps" in out
    assert here(tmp_path, "verify", "--against", "shop")[0] == 2


def test_an_alarm_is_an_exit_code(tmp_path: Path) -> None:
    engine = open_database(str(tmp_path / "shop.sqlite"))
    store = Store(engine, SHOP, lambda: "2025-01-01T00:00:00Z")
    store.take([sent(event) for event in chain(3)])
    store.take([sent(event) for event in chain(3, text="written anew")])
    engine.dispose()
    code, out, _ = here(tmp_path, "shop", "show")
    assert code == 4
    assert "! conflict" in out


def test_to_look_makes_no_store(tmp_path: Path) -> None:
    assert here(tmp_path, "shop", "show")[0] == 2
    assert not (tmp_path / "shop.sqlite").exists()


def test_access_list_and_schema_are_printed(tmp_path: Path) -> None:
    assert "pattern write shop/1/%u/event/#" in here(tmp_path, "shop", "acl")[1]
    assert "EventSent" in json.loads(here(tmp_path, "shop", "schema")[1])["$defs"]


def test_without_a_broker_sending_says_so_and_no_secret_is_seen(home: Path) -> None:
    (home / "settings.toml").write_text('[shop]\nhost = "127.0.0.1"\nport = 1\ntls = false\n')
    secrets = home / "secrets.toml"
    secrets.write_text('password = "hush-hush"\n')
    secrets.chmod(0o600)
    done = run(home, "shop", "send")
    assert done.returncode == 5
    assert "127.0.0.1:1" in done.stderr
    for file in home.rglob("*"):
        assert file == secrets or not file.is_file() or b"hush-hush" not in file.read_bytes(), file
    assert "hush-hush" not in done.stdout + done.stderr
    (home / "settings.toml").unlink()


def test_a_job_does_not_wait_for_a_broker_that_is_not_there(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text('[shop]\non = true\nhost = "127.0.0.1"\nport = 1\ntls = false\n')
    done = run(tmp_path, *WORDS, given="note 12480\nquit\n")
    assert done.returncode == 3
    assert "Traceback" not in done.stderr


def test_a_job_goes_on_where_the_settings_of_the_shop_cannot_be_used(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text('[shop]\non = true\nhost = "127.0.0.1"\nca = "/none.pem"\n')
    done = run(tmp_path, *WORDS, given="note 12480\nquit\n")
    assert done.returncode == 3
    assert "Warning: Nothing is sent to the shop: [shop] ca, certificate or key cannot be used" in done.stdout
    assert "Traceback" not in done.stderr


@pytest.mark.skipif(mosquitto_program() is None, reason="mosquitto is not installed")
def test_collect_and_send_by_hand(tmp_path: Path) -> None:
    with mosquitto(tmp_path) as broker:
        settings = f'[shop]\non = true\nbench = "bay-1"\nhost = "127.0.0.1"\nport = {broker.port}\ntls = false\n'
        (tmp_path / "settings.toml").write_text(settings)
        program = [sys.executable, "-m", "tui.cli", "--home", str(tmp_path), "collect"]
        collector = subprocess.Popen(program, stderr=subprocess.PIPE, text=True)
        guard = threading.Timer(60, collector.kill)
        guard.start()
        try:
            assert collector.stderr is not None
            assert collector.stderr.readline() == "Collecting.\n"
            run(tmp_path, *WORDS, given="note 12480\nnote fleet 7\nquit\n")
            assert "The shop has every event." in run(tmp_path, "shop", "send").stderr
            assert run(tmp_path, "verify", "--against", "shop").returncode == 0
            bench = tmp_path / "bench"  # as if the collector, with its store, were on another machine
            bench.mkdir()
            for name in ("settings.toml", "trail.sqlite", "trail.sqlite.head"):
                shutil.copy(tmp_path / name, bench / name)
            assert "what the shop keeps" in run(bench, "verify", "--against", "shop").stdout
            cut(bench / "trail.sqlite", 1)
            assert run(bench, "verify").returncode == 0
            done = run(bench, "verify", "--against", "shop")
            assert (done.returncode, "WRONG" in done.stdout) == (4, True)
            collector.terminate()
            assert collector.wait() == 128 + 15
        finally:
            guard.cancel()
            collector.kill()
            collector.wait()
            if collector.stderr is not None:
                collector.stderr.close()


# --- watching -------------------------------------------------------------------------------------------------------


def life(bench: str) -> Message:
    payload = BenchState(bench=bench, session=1, state="ready", instance="0" * 16)
    return Message(BenchTopics(SHOP, bench).of("$state"), pack(payload), retain=True)


def job(bench: str, **more: object) -> Message:
    base = JobNow(bench=bench, session=1, job="j1", by="Robin", machine="Depot 7", sheet="s", prompt="p", verdicts={})
    return Message(BenchTopics(SHOP, bench).of("$job"), pack(base.model_copy(update=more)), retain=True)


@pytest.fixture
def air() -> Air:
    return Air()


def painted(table: DataTable[object], row: int) -> str:
    """Return what of a row is really drawn."""
    return "".join(segment.text for segment in table.render_line(row + 1))


async def test_the_screen_shows_every_bench_live(air: Air) -> None:
    for message in (life("bay-1"), job("bay-1", last="slack inside"), life("bay-2")):
        air.spread(message)
    app = ShopWatch(FakeBroker(air, "watcher"), SHOP)
    async with app.run_test(size=(140, 20)) as pilot:
        table = app.query_one(DataTable)
        while table.row_count < 2:
            await pilot.pause(0.02)
        air.spread(job("bay-2", overrides=("axle_nut",), by="Kim"))
        while "Kim" not in str(table.get_row_at(0)):
            await pilot.pause(0.02)
        assert "axle_nut" in str(table.get_row_at(0))
        await pilot.pause()
        assert all(f" {word} " in painted(table, 0) for word in ("■ ready", "Kim", "Depot 7", "⚑ axle_nut"))
        assert "slack inside" in str(table.get_row_at(1))
        await pilot.press("f12")
    assert app.return_value == 0


async def test_hostile_text_of_a_broker_is_drawn_as_text(air: Air) -> None:
    texts = HOSTILE[:40]
    for number, text in enumerate(texts):
        clean = text.encode("utf-8", "replace").decode()[:300]
        air.spread(job(f"bay-{number}", by=clean, machine=clean, prompt=clean, last=clean, overrides=(clean,)))
    app = ShopWatch(FakeBroker(air, "watcher"), SHOP)
    async with app.run_test(size=(140, 50)) as pilot:
        while app.query_one(DataTable).row_count < len(texts):
            await pilot.pause(0.02)
        assert app.is_running


async def test_lines_tell_what_changed_once(air: Air) -> None:
    said: list[str] = []

    class Enough(Exception):  # noqa: N818
        pass

    def out(line: str) -> None:
        said.append(line)
        if len(said) == 2:
            raise Enough

    air.spread(life("bay-1"))
    air.spread(job("bay-1"))
    with pytest.raises(Enough):
        await watch_lines(FakeBroker(air, "watcher"), SHOP, out)
    assert said[0] == "bay-1  ■ ready"
    assert "Robin  Depot 7" in said[1]


def test_what_a_bench_showed_last_is_not_taken_for_now() -> None:
    from logger.collector.view import seen

    floor = seen(EMPTY, SHOP, job("bay-1", prompt="measure slack"))
    assert cells(floor.rows["bay-1"])[4] == "(then) measure slack"


@pytest.mark.parametrize(
    "words", [["collect"], ["shop", "send"], ["shop", "send", "--follow"], ["shop", "watch", "--plain"]]
)
def test_without_a_shop_in_the_settings_it_ends_at_once_and_says_so(tmp_path: Path, words: list[str]) -> None:
    code, _, told = here(tmp_path, *words)
    assert code == 2
    assert told.strip() == f"No shop is set up here. Write the table [shop] into {tmp_path / 'settings.toml'}."

"""The adapter over real brokers: both versions of MQTT, TLS with a pinned authority, access lists, persistence."""

import asyncio
import contextlib
import errno
import gc
import logging
import socket
import ssl
import subprocess
from collections.abc import AsyncIterator, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from amqtt.broker import Broker as EmbeddedBroker  # type: ignore[import-untyped]
from pydantic import SecretStr

from logger.errors import BadInput, NothingToTalkTo
from logger.settings.file import ShopSettings
from logger.shop.ask import acknowledged
from logger.shop.topics import BenchTopics, access_list
from logger.shop.wiremqtt import MqttBroker, broker_of, trust
from logger.shop.wireport import Message
from tests.collect.certificates import Authority
from tests.collect.hall import RealHall
from tests.collect.made import SHOP, ListSource, chain, sent
from tests.collect.servers import PATH, Mosquitto, free_port, mosquitto, mosquitto_program
from tests.collect.waiting import until

needs_mosquitto = pytest.mark.skipif(mosquitto_program() is None, reason="mosquitto is not installed")
WILL = Message("wills/of-tests", b"gone")


@pytest.fixture
async def embedded() -> AsyncIterator[int]:
    """A broker in pure Python, in this very process."""
    logging.getLogger("amqtt").setLevel(logging.CRITICAL)
    port = free_port()
    plugins = {"amqtt.plugins.authentication.AnonymousAuthPlugin": {"allow_anonymous": True}}
    listeners = {"default": {"type": "tcp", "bind": f"127.0.0.1:{port}"}}
    broker = EmbeddedBroker({"listeners": listeners, "plugins": plugins})
    await broker.start()
    yield port
    await broker.shutdown()


async def carried(hall: RealHall) -> None:
    source = ListSource(chain(120))
    hall.collect()
    hall.send(source)
    try:
        await until(lambda: hall.kept() == {"bay-1": 120}, str(hall.told))
        assert hall.alarms() == []
    finally:
        await hall.end_all()


async def test_a_shop_over_an_embedded_broker(embedded: int, tmp_path: Path) -> None:
    await carried(RealHall(tmp_path, embedded))


@needs_mosquitto
@pytest.mark.parametrize("version", ["3.1.1", "5", "auto"])
async def test_a_shop_over_mosquitto_in_each_version(version: str, tmp_path: Path) -> None:
    with mosquitto(tmp_path) as broker:
        await carried(RealHall(tmp_path, broker.port, mqtt=version))


async def test_no_broker_is_told_and_the_versions_take_turns() -> None:
    broker = MqttBroker("127.0.0.1", port := free_port(), "x")
    for older in (True, False):
        with pytest.raises(NothingToTalkTo, match=rf"^Nobody answers at 127\.0\.0\.1:{port}\. It is tried"):
            async with broker.connect(WILL):
                pass
        assert broker._older is older


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (socket.gaierror(socket.EAI_NONAME, "Name or service not known"), "hub is no known name."),
        (socket.gaierror(socket.EAI_AGAIN, "Temporary failure"), "The name hub cannot be looked up now."),
        (TimeoutError("timed out"), "Nobody answers at hub:8883."),
        (OSError(errno.EHOSTUNREACH, "No route to host"), "Nobody answers at hub:8883."),
        (ssl.SSLError(1, "wrong version number"), "No broker at hub:8883 ("),
    ],
)
async def test_why_there_is_no_broker_is_told_in_words(
    error: OSError, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise error

    monkeypatch.setattr("aiomqtt.Client._client_connect", fails, raising=False)
    with pytest.raises(NothingToTalkTo) as told:
        async with MqttBroker("hub", 8883, "x").connect(WILL):
            pass
    assert told.value.message.startswith(said)


@needs_mosquitto
async def test_a_wrong_password_is_told_without_it(tmp_path: Path) -> None:
    lines = with_users(tmp_path, {"bay-1": "right"})
    with mosquitto(tmp_path, lines) as broker:
        for mqtt in ("3.1.1", "5"):
            wrong = MqttBroker("127.0.0.1", broker.port, "bay-1", "bay-1", "hush", mqtt=mqtt)
            with pytest.raises(NothingToTalkTo) as told:
                async with wrong.connect(WILL):
                    pass
            assert "hush" not in str(told.value)


@needs_mosquitto
async def test_a_lost_broker_ends_the_line(tmp_path: Path) -> None:
    async def listen(broker: Mosquitto) -> None:
        async with MqttBroker("127.0.0.1", broker.port, "x").connect(WILL) as line:
            broker.kill()
            async for _ in line.messages():
                pass

    with mosquitto(tmp_path) as broker, pytest.raises(NothingToTalkTo, match="gone"):
        await listen(broker)


# --- TLS, users, access lists ---------------------------------------------------------------------------------------


def with_users(folder: Path, users: dict[str, str]) -> list[str]:
    passwords = folder / "passwords"
    passwords.write_text("".join(f"{user}:{password}\n" for user, password in users.items()))
    subprocess.run(["mosquitto_passwd", "-U", str(passwords)], check=True, env={"PATH": PATH})
    access = folder / "access"
    access.write_text(access_list(SHOP))
    for file in (passwords, access):
        file.chmod(0o600)
    return ["allow_anonymous false", f"password_file {passwords}", f"acl_file {access}"]


@pytest.fixture
def secured(tmp_path: Path) -> Iterator[tuple[Mosquitto, Path]]:
    depot = Authority(tmp_path, "depot")
    certificate, key = depot.issue("broker")
    lines = with_users(tmp_path, {"bay-1": "one", "bay-2": "two", "collector": "all", "watcher": "eye"})
    lines += [f"cafile {depot.ca}", f"certfile {certificate}", f"keyfile {key}"]
    with mosquitto(tmp_path, lines) as broker:
        yield broker, depot.ca


def secure(broker: Mosquitto, user: str, password: str, ca: Path) -> MqttBroker:
    tls = trust(ShopSettings(ca=str(ca)))
    return MqttBroker("127.0.0.1", broker.port, user, user, password, tls, mqtt="3.1.1", timeout_s=3.0)


@needs_mosquitto
async def test_with_tls_users_and_access_list_a_bench_writes_only_as_itself(
    secured: tuple[Mosquitto, Path], tmp_path: Path
) -> None:
    broker, ca = secured
    hall = RealHall(tmp_path, broker.port)
    hall.collect(secure(broker, "collector", "all", ca))
    source = ListSource(chain(5))
    hall.send(source, broker=secure(broker, "bay-1", "one", ca))
    try:
        await until(lambda: hall.kept() == {"bay-1": 5}, str(hall.told))
        forged = sent(chain(6, text="forged")[5])
        with contextlib.suppress(NothingToTalkTo):  # the broker acknowledges what it forbids, or throws it out
            async with secure(broker, "bay-2", "two", ca).connect(WILL) as line:
                await line.publish(forged)
                await line.publish(Message(BenchTopics(SHOP, "bay-1").of("$ack"), b"{}", retain=True))
        source.events += chain(1, after=source.events[-1])
        await until(lambda: hall.kept() == {"bay-1": 6})
        assert hall.alarms() == []
        asking = replace(secure(broker, "bay-1", "one", ca), client="bay-1-asks")
        assert (await acknowledged(asking, BenchTopics(SHOP, "bay-1"))).hash == source.events[-1].hash
    finally:
        await hall.end_all()


@needs_mosquitto
async def test_a_bench_hears_only_what_is_for_it(secured: tuple[Mosquitto, Path]) -> None:
    broker, ca = secured
    async with secure(broker, "bay-2", "two", ca).connect(WILL) as spy:
        await spy.subscribe(["#", f"{SHOP}/1/bay-1/#"])
        async with secure(broker, "bay-1", "one", ca).connect(WILL) as line:
            await line.publish(sent(chain(1)[0]))
        async with secure(broker, "collector", "all", ca).connect(WILL) as line:
            for bench in ("bay-1", "bay-2"):
                await line.publish(Message(BenchTopics(SHOP, bench).of("$ack"), bench.encode()))
        heard = []
        async with asyncio.timeout(20):
            async for message in spy.messages():
                heard.append(message.payload)
                break
        assert heard == [b"bay-2"]


@needs_mosquitto
@pytest.mark.filterwarnings("ignore:unclosed:ResourceWarning")  # paho leaves the socket of a failed handshake lying
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
async def test_another_authority_is_not_trusted(secured: tuple[Mosquitto, Path], tmp_path: Path) -> None:
    broker, _ = secured
    other = Authority(tmp_path, "other").ca
    with pytest.raises(NothingToTalkTo):
        async with secure(broker, "bay-1", "one", other).connect(WILL):
            pass
    gc.collect()


# --- certificates in place of passwords -----------------------------------------------------------------------------


@pytest.fixture
def certified(tmp_path: Path) -> Iterator[tuple[Mosquitto, Authority]]:
    """A broker that lets in only who has a certificate of its authority, by the name in it: mosquitto.conf(5)."""
    depot = Authority(tmp_path, "depot")
    certificate, key = depot.issue("broker")
    (tmp_path / "access").write_text(access_list(SHOP))
    (tmp_path / "access").chmod(0o600)
    lines = ["require_certificate true", "use_identity_as_username true", f"acl_file {tmp_path / 'access'}"]
    lines += [f"cafile {depot.ca}", f"certfile {certificate}", f"keyfile {key}"]
    with mosquitto(tmp_path, lines) as broker:
        yield broker, depot


def by_certificate(port: int, ca: Path, files: tuple[Path, Path], says: str, mqtt: str = "3.1.1") -> MqttBroker:
    """Return the broker as a bench's settings name it, which says that it is `says`."""
    table = {"host": "127.0.0.1", "port": port, "ca": str(ca), "mqtt": mqtt}
    table |= {"certificate": str(files[0]), "key": str(files[1])}
    return broker_of(ShopSettings.model_validate(table), SecretStr(""), says, says)


@needs_mosquitto
@pytest.mark.parametrize("mqtt", ["3.1.1", "5"])
async def test_a_bench_is_who_its_certificate_says_whatever_it_says(
    mqtt: str, certified: tuple[Mosquitto, Authority], tmp_path: Path
) -> None:
    broker, depot = certified
    first, second, collector = (depot.issue(name) for name in ("bay-1", "bay-2", "collector"))
    hall = RealHall(tmp_path, broker.port)
    hall.collect(by_certificate(broker.port, depot.ca, collector, "collector", mqtt))
    source = ListSource(chain(5))
    hall.send(source, broker=by_certificate(broker.port, depot.ca, first, "bay-1", mqtt))
    try:
        await until(lambda: hall.kept() == {"bay-1": 5}, str(hall.told))
        liar = by_certificate(broker.port, depot.ca, second, "bay-1", mqtt)
        liar.client = "liar"
        with contextlib.suppress(NothingToTalkTo):  # the broker acknowledges what it forbids, or throws it out
            async with liar.connect(WILL) as line:
                await line.publish(sent(chain(6, text="forged")[5]))
        source.events += chain(1, after=source.events[-1])
        await until(lambda: hall.kept() == {"bay-1": 6})
        assert hall.alarms() == []
    finally:
        await hall.end_all()


@needs_mosquitto
@pytest.mark.filterwarnings("ignore:unclosed:ResourceWarning")  # paho leaves the socket of a failed handshake lying
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
async def test_without_a_certificate_of_the_authority_nobody_gets_in(
    certified: tuple[Mosquitto, Authority], tmp_path: Path
) -> None:
    broker, depot = certified
    foreign = Authority(tmp_path, "other").issue("bay-1")
    nothing = MqttBroker("127.0.0.1", broker.port, "bay-1", "bay-1", "", trust(ShopSettings(ca=str(depot.ca))))
    for who in (nothing, by_certificate(broker.port, depot.ca, foreign, "bay-1")):
        who.timeout_s = 3.0
        with pytest.raises(NothingToTalkTo):
            async with who.connect(WILL):
                pass
    gc.collect()


def test_a_key_that_is_not_of_the_certificate_is_refused(tmp_path: Path) -> None:
    depot = Authority(tmp_path, "depot")
    (certificate, _), (_, key) = depot.issue("bay-1"), depot.issue("bay-2")
    with pytest.raises(BadInput, match="cannot be used"):
        trust(ShopSettings(ca=str(depot.ca), certificate=str(certificate), key=str(key)))


def test_trust_always_checks_the_name_and_refuses_what_is_no_certificate(tmp_path: Path) -> None:
    context = trust(ShopSettings())
    assert context.check_hostname
    assert context.verify_mode == ssl.CERT_REQUIRED
    wrong = tmp_path / "ca.pem"
    wrong.write_text("not a certificate")
    for ca in (wrong, tmp_path / "missing.pem"):
        with pytest.raises(BadInput, match="cannot be used"):
            trust(ShopSettings(ca=str(ca)))


@needs_mosquitto
async def test_more_than_a_broker_queues_arrives_all_the_same(tmp_path: Path) -> None:
    """At its defaults a broker keeps 1000 messages for one who is away, and acknowledges the others all the same."""
    with mosquitto(tmp_path) as broker:
        hall = RealHall(tmp_path, broker.port)
        hall.collect()
        source = ListSource(chain(10))
        hall.send(source)
        try:
            await until(lambda: hall.kept() == {"bay-1": 10})
            await hall.end("collector")
            source.events += chain(1500, after=source.events[-1])
            hall.collect()
            await until(lambda: hall.kept() == {"bay-1": 1510})
        finally:
            await hall.end_all()

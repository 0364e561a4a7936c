"""The port to a broker over aiomqtt: TLS, MQTT 5 where the broker speaks it and else 3.1.1."""

import asyncio
import contextlib
import errno
import logging
import socket
import ssl
from collections.abc import AsyncIterator, Awaitable, Iterator, Sequence
from dataclasses import dataclass, field

import aiomqtt
from pydantic import SecretStr

from logger.errors import BadInput, NothingToTalkTo
from logger.settings.file import ShopSettings
from logger.settings.settings import expanded

from .wireport import Line, Message

_quiet = logging.getLogger("evenhand.mqtt")
_quiet.setLevel(logging.CRITICAL)  # what it would tell is told as errors; its own words could repeat a user name

CONNECT_S = 5.0
"""Seconds a broker has to answer anything."""
_IN_FLIGHT = 1
"""Messages the broker may not have acknowledged yet: one, so that a resend cannot overtake."""


@dataclass(slots=True)
class MqttBroker:
    """A broker by its address."""

    host: str
    port: int
    client: str
    user: str = ""
    password: str = ""
    tls: ssl.SSLContext | None = None
    mqtt: str = "auto"
    keepalive_s: int = 15
    timeout_s: float = CONNECT_S
    _older: bool = field(default=False, init=False)
    """Whether the last attempt failed with MQTT 5, so that 3.1.1 has its turn."""

    @contextlib.asynccontextmanager
    async def connect(self, will: Message) -> AsyncIterator[Line]:
        """Connect; see the port. A connection lost inside is told as NothingToTalkTo."""
        client = self._client(will, five=self.mqtt == "5" or (self.mqtt == "auto" and not self._older))
        try:
            await _heeding(client.__aenter__())
        except (aiomqtt.MqttError, OSError, ValueError) as error:
            self._older = not self._older
            raise NothingToTalkTo(self._told(error), "It is tried again by itself.") from error
        except asyncio.CancelledError:
            await _leave(client)
            raise
        try:
            yield _MqttLine(client)
        finally:
            await _leave(client)

    def _client(self, will: Message, *, five: bool) -> aiomqtt.Client:
        return aiomqtt.Client(
            self.host,
            self.port,
            identifier=self.client,
            username=self.user or None,
            password=self.password or None,
            will=aiomqtt.Will(will.topic, will.payload, qos=1, retain=will.retain),
            protocol=aiomqtt.ProtocolVersion.V5 if five else aiomqtt.ProtocolVersion.V311,
            clean_session=None if five else True,
            clean_start=True if five else 3,
            tls_context=self.tls,
            keepalive=self.keepalive_s,
            timeout=self.timeout_s,
            max_inflight_messages=_IN_FLIGHT,
            max_queued_incoming_messages=0,  # a full queue would discard what it has acknowledged already
            socket_options=[(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)],  # small messages, each waited for
            logger=_quiet,
        )

    def _told(self, error: Exception) -> str:
        match error.__context__ if isinstance(error, aiomqtt.MqttError) else error:
            case socket.gaierror(errno=socket.EAI_AGAIN):
                return f"The name {self.host} cannot be looked up now."
            case socket.gaierror():
                return f"{self.host} is no known name."
            case ConnectionRefusedError() | TimeoutError() | OSError(errno=errno.EHOSTUNREACH | errno.ENETUNREACH):
                return f"Nobody answers at {self.host}:{self.port}."
            case _:
                return f"No broker at {self.host}:{self.port} ({str(error)[:120]})."


async def _leave(client: aiomqtt.Client) -> None:
    """Disconnect; a connection that is gone already raises nothing new."""
    with contextlib.suppress(aiomqtt.MqttError):
        await client.__aexit__(None, None, None)
    if client._disconnected.done():
        client._disconnected.exception()  # looked at, or asyncio reports it as forgotten


async def _heeding(call: Awaitable[object]) -> None:
    """Await, and heed a cancelling that came meanwhile: before Python 3.12 `asyncio.wait_for` can swallow one."""
    task = asyncio.current_task()
    before = task.cancelling() if task else 0
    await call
    if task is not None and task.cancelling() > before:
        raise asyncio.CancelledError


class _MqttLine:
    def __init__(self, client: aiomqtt.Client) -> None:
        self._client = client

    async def publish(self, message: Message) -> None:
        with _as_gone():
            await _heeding(self._client.publish(message.topic, message.payload, qos=1, retain=message.retain))

    async def subscribe(self, topics: Sequence[str]) -> None:
        with _as_gone():
            await _heeding(self._client.subscribe([(topic, 1) for topic in topics]))

    async def messages(self) -> AsyncIterator[Message]:
        with _as_gone():
            async for message in self._client.messages:
                data = message.payload if isinstance(message.payload, bytes) else b""
                yield Message(str(message.topic), data, retain=bool(message.retain))

    def waiting(self) -> int:
        return len(self._client.messages)


@contextlib.contextmanager
def _as_gone() -> Iterator[None]:
    try:
        yield
    except aiomqtt.MqttError as error:
        raise NothingToTalkTo(f"The broker is gone ({str(error)[:120]}).", "It is tried again by itself.") from error


def broker_of(settings: ShopSettings, password: SecretStr, client: str, user: str) -> MqttBroker:
    """Return the broker that the settings name; BadInput when its certificates cannot be used."""
    return MqttBroker(
        settings.host,
        settings.port,
        client,
        settings.user or user,
        password.get_secret_value(),
        trust(settings) if settings.tls else None,
        settings.mqtt,
    )


def trust(settings: ShopSettings) -> ssl.SSLContext:
    """Return whom to trust: with `ca` that authority alone; the host name is always checked.

    BadInput where a file of the settings cannot be used.
    """
    try:
        context = ssl.create_default_context(cafile=str(expanded(settings.ca)) if settings.ca else None)
        if settings.certificate:
            context.load_cert_chain(expanded(settings.certificate), expanded(settings.key))
    except (OSError, ssl.SSLError) as error:
        raise BadInput(f"[shop] ca, certificate or key cannot be used: {error}.", "Name PEM files.") from error
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    return context

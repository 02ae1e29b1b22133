"""One connection to a broker, held to limits: aiomqtt's client with its edges taken over.

What aiomqtt and paho leave open, and what is done about it here:

1. Their connecting blocks in a thread that nothing can stop; here the socket comes opened.
2. A broker that breaks off before it let us in would be waited for to the end; here that ends it.
3. Messages would wait in one queue for all; here each is handed on as it comes.
4. A topic that is no UTF-8 would leave the connection half dead; here that message is counted.
5. A broker of MQTT 5 may refuse a publication in its receipt, and the reason would be lost.
6. Whoever waits for a receipt when the connection breaks would wait in vain; here all are woken.
7. Their waiting (`asyncio.wait_for`, before Python 3.12) takes a cancellation for an answer if both come
   in one turn of the loop, so that a task that was told to end goes on for ever; `_wait_for` doesn't.

For this some of their inner names are used, `_client`, `_connected`, `_disconnected`, `_misc_task`,
`_wait_for`, what is pending, and the callbacks of aiomqtt, `_create_socket` and `_sock_close` of paho;
both packages are pinned, and the tests fail if one of these changes its meaning. The version of the
protocol is given; who tries which is `fleet.link.mqtt_door`'s matter. A client is used for one connection
and never again.
"""

import asyncio
import logging
import secrets
from collections.abc import Awaitable, Callable
from typing import Any, Protocol, TypeVar

import aiomqtt
from paho.mqtt import client as paho
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from fleet.link.mqtt_framing import BoundedSocket
from fleet.link.mqtt_limits import BrokerLimits
from fleet.link.mqtt_opening import BrokerAddress
from fleet.model.credentials import Credential

Version = aiomqtt.ProtocolVersion
T = TypeVar("T")

# What happened is told in our own words; theirs would go to standard error.
_SILENT = logging.getLogger("fleet.link.mqtt_client.silent")
_SILENT.addHandler(logging.NullHandler())
_SILENT.propagate = False


class Deliver(Protocol):
    """Takes a message; a topic of None was no UTF-8."""

    def __call__(self, topic: str | None, payload: bytes, *, retained: bool, clipped: bool) -> None:
        """Take it without waiting."""


class NotAcceptedError(aiomqtt.MqttError):
    """The broker didn't let us in.

    Attributes:
        code: its reason (MQTT 5.0 §3.2.2.2), or None where it said nothing.
    """

    def __init__(self, code: int | None) -> None:
        """Keep the reason."""
        super().__init__(f"not accepted ({code})")
        self.code = code


class MqttClient(aiomqtt.Client):
    """A connection to a broker.

    Attributes:
        version: the version of the protocol that it speaks.
    """

    def __init__(
        self,
        bounded: BoundedSocket,
        address: BrokerAddress,
        version: Version,
        credential: Credential | None,
        limits: BrokerLimits,
        deliver: Deliver,
    ) -> None:
        """Make a client over an open socket, which is closed with it. Call it in the running loop."""
        newer = version is Version.V5
        super().__init__(
            address.host,
            address.port,
            username=credential.user if credential else None,
            password=credential.secret if credential else None,
            logger=_SILENT,
            identifier=f"wd{secrets.token_hex(10)}",  # 22 characters: §3.1.3.1 asks for no more than 23
            protocol=version,
            clean_session=None if newer else True,
            clean_start=True if newer else paho.MQTT_CLEAN_START_FIRST_ONLY,
            timeout=limits.answer_s,
            keepalive=limits.keepalive_s,
            properties=_properties(limits) if newer else None,
        )
        self.version = version
        self._granted: dict[str, int] = {}
        self._asking: dict[str, asyncio.Lock] = {}
        self._bounded = bounded
        self._limits = limits
        self._deliver = deliver
        self._receipts: dict[int, asyncio.Future[int]] = {}
        self._fallen: list[Callable[[], None]] = []
        self._disconnected.add_done_callback(self._fall)
        # The socket is open already, so that connecting doesn't block.
        vars(self._client)["_create_socket"] = lambda: bounded

    @property
    def alive(self) -> bool:
        """Whether the connection stands."""
        return self._connected.done() and not self._disconnected.done()

    def when_gone(self, call: Callable[[], None]) -> None:
        """Have something called once the connection is gone, for whatever reason."""
        self._fallen.append(call)

    async def open(self) -> None:
        """Let the broker know us.

        Raises:
            NotAcceptedError: it refused, or broke off.
            TimeoutError: it said nothing in time.
        """
        self._client_connect()
        done, _ = await asyncio.wait({self._connected}, timeout=self._limits.accept_s)
        if not done:
            raise TimeoutError
        refused = self._connected.exception()
        if refused is not None:
            raise NotAcceptedError(_code(refused)) from refused

    async def end(self) -> None:
        """Say goodbye where that is possible, and close everything."""
        try:
            if self.alive and self._client.disconnect() == paho.MQTT_ERR_SUCCESS:
                await asyncio.wait({self._disconnected}, timeout=self._limits.goodbye_s)
        finally:
            self._break(None)
        if self._misc_task is not None:
            await asyncio.wait({self._misc_task})

    async def put(self, topic: str, payload: bytes, *, qos: int, retain: bool) -> int:
        """Publish and wait: at quality 0 until it is on its way, from 1 on for the receipt.

        Returns:
            The reason in the receipt, 0x80 and more where the broker refused.

        Raises:
            ConnectionError: it didn't go out.
            TimeoutError: no receipt came, or the connection broke before it.
        """
        sent = self._client.publish(topic, payload, qos, retain)
        if sent.rc != paho.MQTT_ERR_SUCCESS:
            raise ConnectionError
        receipt: asyncio.Future[int] = self._loop.create_future()
        self._receipts[sent.mid] = receipt
        try:
            await asyncio.wait({receipt}, timeout=self._limits.answer_s)
        finally:
            del self._receipts[sent.mid]
        if not receipt.done() or receipt.cancelled():
            raise TimeoutError
        return receipt.result()

    async def listen(self, heard: str, qos: int, *, again: bool) -> bool:
        """Subscribe, unless that was done before; return whether the broker granted it.

        Args:
            heard: the filter.
            qos: 0 or 1; quality 2 would only add a second round of receipts to what is read anyway.
            again: subscribe in any case, so that the broker sends again what it keeps.

        Raises:
            aiomqtt.MqttError: no answer came.
        """
        async with self._asking.setdefault(heard, asyncio.Lock()):
            if not again and self._granted.get(heard, -1) >= qos:
                return True
            return await self._subscribe(heard, max(qos, self._granted.get(heard, 0)))

    async def _subscribe(self, heard: str, qos: int) -> bool:
        codes = await self.subscribe(heard, qos)
        said = [code.value if isinstance(code, ReasonCode) else code for code in codes]
        granted = all(code < _FAILURE for code in said)
        if granted:
            self._granted[heard] = qos
        return granted

    async def leave(self, heard: str) -> None:
        """Unsubscribe; a connection that is gone needs none."""
        self._granted.pop(heard, None)
        self._asking.pop(heard, None)
        if self.alive:
            try:
                await self.unsubscribe(heard, timeout=self._limits.goodbye_s)
            except aiomqtt.MqttError:
                return  # what still comes is for nobody, and is dropped

    async def _wait_for(self, fut: Awaitable[T], timeout: float | None) -> T:  # noqa: ASYNC109 - overrides aiomqtt's own signature
        try:
            async with asyncio.timeout(self.timeout if timeout is None else timeout):
                return await fut
        except TimeoutError as reason:
            raise aiomqtt.MqttError("no answer in time") from reason

    # Callbacks, all in the loop's own thread.

    def _on_message(self, client: paho.Client, userdata: Any, message: paho.MQTTMessage) -> None:  # noqa: ARG002 - overrides aiomqtt's own signature
        try:
            topic = message.topic
        except UnicodeDecodeError:
            topic = None
        self._deliver(
            topic, bytes(message.payload), retained=message.retain, clipped=self._bounded.clipped
        )

    def _on_publish(
        self,
        client: paho.Client,  # noqa: ARG002 - overrides aiomqtt's own signature
        userdata: Any,  # noqa: ARG002 - overrides aiomqtt's own signature
        mid: int,
        reason_code: ReasonCode,
        properties: Properties,  # noqa: ARG002 - overrides aiomqtt's own signature
    ) -> None:
        receipt = self._receipts.get(mid)
        if receipt is not None and not receipt.done():
            receipt.set_result(reason_code.value)

    def _on_disconnect(
        self,
        client: paho.Client,  # noqa: ARG002 - overrides aiomqtt's own signature
        userdata: Any,  # noqa: ARG002 - overrides aiomqtt's own signature
        flags: paho.DisconnectFlags,  # noqa: ARG002 - overrides aiomqtt's own signature
        reason_code: ReasonCode,
        properties: Properties | None = None,  # noqa: ARG002 - overrides aiomqtt's own signature
    ) -> None:
        if not self._disconnected.done():
            self._disconnected.set_exception(aiomqtt.MqttCodeError(reason_code))

    def _on_socket_open(self, client: paho.Client, userdata: Any, sock: Any) -> None:  # noqa: ARG002 - overrides aiomqtt's own signature
        self._loop.add_reader(self._bounded.fileno(), self._read)
        self._misc_task = self._loop.create_task(self._misc_loop())

    def _on_socket_close(self, client: paho.Client, userdata: Any, sock: Any) -> None:  # noqa: ARG002 - overrides aiomqtt's own signature
        self._loop.remove_reader(self._bounded.fileno())
        if self._misc_task is not None:
            self._misc_task.cancel()

    def _on_socket_register_write(self, client: paho.Client, userdata: Any, sock: Any) -> None:  # noqa: ARG002 - overrides aiomqtt's own signature
        self._loop.add_writer(self._bounded.fileno(), self._write)

    def _read(self) -> None:
        try:
            self._client.loop_read()
            while self._bounded.fileno() >= 0 and self._bounded.pending():
                self._client.loop_read()
        except Exception as reason:  # noqa: BLE001 (whatever nonsense a broker sends ends its connection only)
            self._break(reason)

    def _write(self) -> None:
        try:
            self._client.loop_write()
        except Exception as reason:  # noqa: BLE001 (as above)
            self._break(reason)

    def _break(self, reason: Exception | None) -> None:
        """Close the socket at once and let everybody know."""
        self._client._sock_close()  # noqa: SLF001 (paho has no public way to close without a goodbye)
        if not self._disconnected.done():
            self._disconnected.set_exception(aiomqtt.MqttError(str(reason)))

    def _fall(self, disconnected: asyncio.Future[None]) -> None:
        reason = disconnected.exception()
        if not self._connected.done():
            self._connected.set_exception(reason or aiomqtt.MqttError())
        self._connected.exception()  # seen, even where nobody waits for it any more
        for pending in self._pending_subscribes.values():
            if not pending.done():
                pending.set_exception(aiomqtt.MqttError("gone"))
        for receipt in self._receipts.values():
            receipt.cancel()
        for confirmation in self._pending_unsubscribes.values():
            confirmation.set()
        for call in self._fallen:
            call()


_FAILURE = 0x80


def _properties(limits: BrokerLimits) -> Properties:
    properties = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call]  # paho types it not
    properties.MaximumPacketSize = limits.packet_bytes
    return properties


def _code(refused: BaseException) -> int | None:
    """Return the reason of a CONNACK; None where the connection just ended."""
    if not isinstance(refused, aiomqtt.exceptions.MqttConnectError):
        return None
    said = refused.rc
    return said.value if isinstance(said, ReasonCode) else said

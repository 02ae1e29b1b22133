"""One broker for the whole visit: one connection, opened at first use, kept and opened again.

1. Everybody who needs the connection waits for the same try; a try in progress isn't doubled.
2. MQTT 5 is tried first. A broker that refuses that version, or breaks off before it answered at all, is
   tried with 3.1.1; one that has once spoken 5 is held to it unless it refuses.
3. After a failure the next try waits: half a second at first, twice as long each time, up to eight, and
   a random part of that. Somebody who asks anew cuts the wait down to the first pause, not below it.
4. A name and password that were refused are not tried again until others are given.
5. Over TLS the certificate is held against what is known before name and password go out.
6. Each listener subscribes by itself after a break; one subscription stands for each filter, and it ends
   with its last listener.
"""

import asyncio
import secrets
import socket
from contextlib import suppress
from dataclasses import dataclass

import aiomqtt

from fleet.link import mqtt_words as words
from fleet.link.mqtt_client import MqttClient, NotAcceptedError, Version
from fleet.link.mqtt_framing import BoundedSocket
from fleet.link.mqtt_inbox import Inbox
from fleet.link.mqtt_limits import BrokerLimits
from fleet.link.mqtt_opening import BrokerAddress, fingerprint_of, open_socket
from fleet.link.mqtt_topics import Listeners
from fleet.link.pinning import CertificateChangedError, Pinning
from fleet.model.credentials import Credential, CredentialSource
from fleet.model.errors import LinkError

_CHANCE = secrets.SystemRandom()
_REFUSED = 0x80  # reasons of a receipt from here on (MQTT 5.0 §2.4)
_WHY = {
    False: "nothing answers at its address",
    True: "nothing answers there, or nothing that speaks TLS",
}


@dataclass(frozen=True, slots=True)
class BrokerCounts:
    """What happened at a broker since the start of the visit.

    Attributes:
        version: "MQTT 5" or "MQTT 3.1.1"; "" before the first connection.
        connected: the connection stands.
        connections: how often it was made.
        messages: how many came.
        slow: how many were dropped because a listener was slow.
        oversize: how many were longer than may be.
        unsound: how many had a topic that is no UTF-8.
    """

    version: str = ""
    connected: bool = False
    connections: int = 0
    messages: int = 0
    slow: int = 0
    oversize: int = 0
    unsound: int = 0


class Broker:
    """The way to one broker."""

    def __init__(
        self,
        address: BrokerAddress,
        credentials: CredentialSource | None,
        pinning: Pinning,
        limits: BrokerLimits,
    ) -> None:
        """Make it; nothing is opened yet."""
        self.address = address
        self.limits = limits
        self._credentials = credentials
        self._pinning = pinning
        self._listeners = Listeners()
        self._client: MqttClient | None = None
        self._trying: asyncio.Task[MqttClient | words.Trouble] | None = None
        self._hurry = asyncio.Event()
        self._failures = 0
        self._refused: Credential | None = None
        self._version: Version | None = None
        self._connections = 0
        self._closed = False

    def counts(self) -> BrokerCounts:
        """Return what happened so far."""
        heard = self._listeners
        return BrokerCounts(
            version=words.VERSION_WORDS.get(self._version, "") if self._version else "",
            connected=self._client is not None and self._client.alive,
            connections=self._connections,
            messages=heard.messages,
            slow=heard.slow,
            oversize=heard.oversize,
            unsound=heard.unsound,
        )

    async def publish(
        self, topic: str, payload: bytes, *, qos: int, retain: bool, subject: str
    ) -> None:
        """Publish a message.

        Raises:
            LinkError: the broker can't be reached, or gave no receipt.
            UnitError: the broker refused.
        """
        client = await self._ready(subject)
        try:
            code = await client.put(topic, payload, qos=qos, retain=retain)
        except ConnectionError as reason:
            raise words.not_sent(subject, self.address.origin) from reason
        except TimeoutError as reason:
            raise words.in_doubt(subject, self.address.origin) from reason
        if code >= _REFUSED:
            raise words.may_not_publish(subject, topic, self.address.origin, code)

    async def join(self, inbox: Inbox, subject: str, *, anew: bool = True) -> None:
        """Have an inbox filled, on the connection that stands or on a new one.

        Args:
            inbox: where messages go until `leave`.
            subject: the unit, for messages.
            anew: somebody asked for it just now, and doesn't wait longer than must be.

        Raises:
            LinkError: the broker can't be reached.
            UnitError: the broker refused.
        """
        client = await self._ready(subject, anew=anew)
        if inbox.filled_by is client:
            return
        self._listeners.add(inbox)
        try:
            granted = await client.listen(inbox.heard, min(inbox.qos, 1), again=inbox.retained)
        except aiomqtt.MqttError as reason:
            raise words.no_answer(subject, self.address.origin) from reason
        if not granted:
            raise words.may_not_listen(subject, inbox.heard, self.address.origin)
        inbox.filled_by = client

    async def rejoin(self, inbox: Inbox, subject: str) -> None:
        """Go on after a break, as often as the limits have it.

        Raises:
            LinkError: the broker stayed away.
            UnitError: it refuses now.
        """
        failed = 0
        while True:
            try:
                await self.join(inbox, subject, anew=False)
            except CertificateChangedError:
                raise
            except LinkError:
                failed += 1
                if failed == self.limits.tries or self._closed:
                    raise
            else:
                return

    async def leave(self, inbox: Inbox) -> None:
        """Have an inbox filled no longer."""
        if self._listeners.remove(inbox) and self._client is not None:
            await self._client.leave(inbox.heard)

    async def close(self) -> None:
        """End the connection, and with it all that listen."""
        self._closed = True
        if self._trying is not None:
            self._trying.cancel()
            await asyncio.wait({self._trying})
        if self._client is not None:
            await self._client.end()
        self._listeners.interrupt()

    async def _ready(self, subject: str, *, anew: bool = True) -> MqttClient:
        """Return a connection that stands."""
        if self._closed:
            raise words.closed(subject)
        if self._client is not None and self._client.alive:
            return self._client
        if anew:
            self._hurry.set()
        if self._trying is None or self._trying.done():
            self._trying = asyncio.create_task(self._try(), name=f"open {self.address.origin}")
        trying = self._trying
        await asyncio.wait({trying})
        if trying.cancelled():
            raise words.closed(subject)
        outcome = trying.result()
        if isinstance(outcome, MqttClient):
            return outcome
        raise outcome(subject)

    async def _try(self) -> MqttClient | words.Trouble:
        """Make one try, after a pause where the one before failed."""
        await self._pause()
        if self._client is not None:
            await self._client.end()  # it is gone already; this waits for what it leaves
            self._client = None
        credential = self._credential()
        if credential is not None and credential == self._refused:
            return words.locked(self.address.origin, refused=True)
        try:
            async with asyncio.timeout(self.limits.ready_s):
                outcome = await self._open(credential)
        except TimeoutError:
            outcome = words.gone(self.address.origin, "it said nothing in time")
        if isinstance(outcome, MqttClient):
            self._failures = 0
            self._connections += 1
            self._version = outcome.version
            self._client = outcome
            outcome.when_gone(self._listeners.interrupt)
        else:
            self._failures += 1
        return outcome

    async def _pause(self) -> None:
        if not self._failures:
            return
        first, longest = self.limits.first_pause_s, self.limits.longest_pause_s
        share = _CHANCE.uniform(0.5, 1.0)
        self._hurry.clear()
        await asyncio.sleep(share * first)
        rest = share * min(first * 2 ** (self._failures - 1), longest) - share * first
        if rest > 0:
            with suppress(TimeoutError):
                await asyncio.wait_for(self._hurry.wait(), rest)

    async def _open(self, credential: Credential | None) -> MqttClient | words.Trouble:
        """Open a connection in the newest version that the broker speaks."""
        first = self._version or Version.V5
        outcome = await self._open_in(first, credential)
        if isinstance(outcome, NotAcceptedError) and first is Version.V5:
            broke_off = outcome.code is None and self._version is None
            if broke_off or words.is_wrong_version(outcome.code):
                outcome = await self._open_in(Version.V311, credential)
        if isinstance(outcome, NotAcceptedError):
            return self._trouble(outcome.code, credential)
        return outcome

    def _trouble(self, code: int | None, credential: Credential | None) -> words.Trouble:
        if words.is_wrong_secret(code):
            self._refused = credential
            return words.locked(self.address.origin, refused=credential is not None)
        return words.not_accepted(self.address.origin, code)

    async def _open_in(
        self, version: Version, credential: Credential | None
    ) -> MqttClient | NotAcceptedError | words.Trouble:
        try:
            connected = await open_socket(self.address)
        except OSError:
            return words.gone(self.address.origin, _WHY[self.address.secure])
        bounded = BoundedSocket(connected, self.limits.packet_bytes)
        if self.address.secure and (unknown := self._other_certificate(connected)):
            bounded.close()
            return unknown
        client = MqttClient(
            bounded, self.address, version, credential, self.limits, self._listeners.deliver
        )
        try:
            await client.open()
        except NotAcceptedError as refused:
            await client.end()
            return refused
        except BaseException:
            await client.end()
            raise
        return client

    def _other_certificate(self, connected: socket.socket) -> words.Trouble | None:
        """Hold the certificate against what is known; keep it where nothing is."""
        shown, key = fingerprint_of(connected), self.address.origin
        try:
            self._pinning.hold((key,), shown, key)
        except CertificateChangedError:
            return words.changed(key, lambda subject: self._pinning.hold((key,), shown, subject))
        return None

    def _credential(self) -> Credential | None:
        return self._credentials.credential_for(self.address.origin) if self._credentials else None

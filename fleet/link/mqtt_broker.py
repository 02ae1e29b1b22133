"""One broker for the whole visit: one connection, opened at first use, kept and opened again.

1. Everybody who needs the connection waits for the same try; a try in progress isn't doubled.
2. After a failure the next try waits: half a second at first, twice as long each time, up to eight, and
   a random part of that. Somebody who asks anew cuts the wait down to the first pause, not below it.
3. A name and password that were refused are not tried again until others are given.
4. Each listener subscribes by itself after a break; one subscription stands for each filter, and it ends
   with its last listener.
"""

import asyncio
import secrets
from contextlib import suppress
from dataclasses import dataclass

import aiomqtt

from fleet.link import mqtt_words as words
from fleet.link.mqtt_client import MqttClient, NotAcceptedError, Version
from fleet.link.mqtt_door import Door
from fleet.link.mqtt_inbox import Inbox
from fleet.link.mqtt_limits import BrokerLimits
from fleet.link.mqtt_opening import BrokerAddress
from fleet.link.mqtt_topics import Listeners
from fleet.link.pinning import CertificateChangedError, Pinning
from fleet.model.credentials import Credential, CredentialSource
from fleet.model.errors import LinkError

_CHANCE = secrets.SystemRandom()
_REFUSED = 0x80  # reasons of a receipt from here on (MQTT 5.0 §2.4)


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
        self._listeners = Listeners()
        self._door = Door(address, pinning, limits, self._listeners.deliver)
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
            if self._closed:
                raise words.closed(subject) from reason
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

    def try_again(self) -> None:
        """Let what was refused be tried again."""
        self._refused = None

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
        outcome = await self._door.open(self._version, credential)
        if isinstance(outcome, MqttClient):
            self._keep(outcome)
            return outcome
        self._failures += 1
        if isinstance(outcome, NotAcceptedError):
            return self._trouble(outcome.code, credential)
        return outcome

    def _keep(self, client: MqttClient) -> None:
        self._connections += 1
        self._version = client.version
        self._client = client
        # Until it has lasted it counts as a failure: a broker that lets us in and breaks off at once
        # would else be called on without a pause.
        self._failures += 1
        loop = asyncio.get_running_loop()
        lasting = loop.call_later(self.limits.longest_pause_s, self._trust)
        client.when_gone(lasting.cancel)
        client.when_gone(self._listeners.interrupt)

    def _trust(self) -> None:
        self._failures = 0

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
                async with asyncio.timeout(rest):
                    await self._hurry.wait()

    def _trouble(self, code: int | None, credential: Credential | None) -> words.Trouble:
        if words.is_wrong_secret(code):
            self._refused = credential
            return words.locked(self.address.origin, refused=credential is not None)
        return words.not_accepted(self.address.origin, code)

    def _credential(self) -> Credential | None:
        return self._credentials.credential_for(self.address.origin) if self._credentials else None

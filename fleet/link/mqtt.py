"""Units behind a broker (MQTT 3.1.1 and 5): read, written and watched over one connection for all.

1. A value is read by subscribing: the broker hands out what it kept (retained), or else the next message
   is waited for. What was kept has no time with it: how old it is, only the value itself can say.
2. A stream shows what is published from now on, never what was kept; so, as with every other stream:
   open it, then read.
3. A broker that answers says nothing of the unit behind it. A unit that fell silent is shown by the age
   of what it said last, and by nothing else.
4. Publishing at quality 0 tells nothing; from 1 on the broker gives a receipt, which says that the
   broker has it, not that the unit does. Only what is read back shows that.
5. We leave no will behind, ask for a clean start, and go by a random name: nothing of the visit stays at
   the broker, and nobody else's connection is ended by ours.
6. A listener that is slow, a message that is long and a topic that is unsound cost that one message, and
   are counted; the other units go on.

The event loop has to be one that watches sockets (asyncio's selector loop).
"""

import asyncio
from collections.abc import AsyncGenerator, AsyncIterator
from contextlib import aclosing

from fleet.description.forms import Form
from fleet.description.topics import hold_topic
from fleet.link import mqtt_words as words
from fleet.link.arrivals import Arrival
from fleet.link.mqtt_broker import Broker, BrokerCounts
from fleet.link.mqtt_inbox import Inbox
from fleet.link.mqtt_limits import BrokerLimits
from fleet.link.mqtt_opening import broker_address
from fleet.link.mqtt_topics import hold_filter
from fleet.link.pinning import Pinning, VisitPins
from fleet.model.credentials import CredentialSource


class Brokers:
    """All brokers of a visit. Use it in one running loop, and close it there."""

    def __init__(
        self,
        credentials: CredentialSource | None = None,
        pinning: Pinning | None = None,
        limits: BrokerLimits | None = None,
    ) -> None:
        """Start without a connection.

        Args:
            credentials: asked for name and password under the broker's origin ("mqtt://192.0.2.9:1883").
            pinning: holds certificates against what is known; without one, they are kept for this visit.
            limits: bounds on waits and sizes.
        """
        self._credentials = credentials
        self._pinning = pinning or Pinning(VisitPins())
        self._limits = limits or BrokerLimits()
        self._brokers: dict[str, Broker] = {}
        self._closed = False

    async def read(self, form: Form, subject: str) -> bytes:
        """Return the value that the broker keeps, or the next that comes.

        Args:
            form: says which broker and which filter.
            subject: the unit, for messages.

        Raises:
            PlanError: the topic is none.
            LinkError: the broker can't be reached, or has nothing of the unit.
            UnitError: the broker refused, or the value is too long.
        """
        broker, heard = self._broker(form.url, subject), _topic(form.filter or form.topic, subject)
        limits = self._limits
        inbox = Inbox(heard, limits, qos=form.qos, retained=True, limit_bytes=limits.value_bytes)
        try:
            await broker.join(inbox, subject)
            async with asyncio.timeout(limits.value_s):
                return await _first(inbox, broker, subject)
        except TimeoutError as reason:
            raise words.silent(subject, heard, limits.value_s) from reason
        finally:
            await broker.leave(inbox)

    async def publish(self, form: Form, body: bytes, subject: str) -> None:
        """Publish a value or an action's argument at the form's quality of service.

        At quality 0 the return says only that it was handed on; from 1 on, that the broker has it. An
        action is never retained: the broker would hand it to the unit again each time that it comes back.

        Args:
            form: says which broker, which topic and how.
            body: what to publish.
            subject: the unit, for messages.

        Raises:
            PlanError: the topic is none, or the body too long; nothing was sent.
            LinkError: the broker can't be reached, or gave no receipt: it may have been done all the same.
            UnitError: the broker refused.
        """
        broker, topic = self._broker(form.url, subject), _topic(form.topic, subject)
        if len(body) > self._limits.value_bytes:
            raise words.too_long_to_send(subject, topic, self._limits.value_bytes)
        retain = form.retain and form.op != "invokeaction"
        await broker.publish(topic, body, qos=form.qos, retain=retain, subject=subject)

    async def watch(self, form: Form, subject: str) -> AsyncIterator[list[Arrival]]:
        """Yield what is published from now on, all that came since the last time at once.

        A broker that goes away for a moment is waited for; what was published meanwhile is lost, as a
        report's number shows.

        Raises:
            PlanError: the topic is none.
            LinkError: the broker can't be reached, or stayed away.
            UnitError: the broker refused.
        """
        broker, heard = self._broker(form.url, subject), _topic(form.filter or form.topic, subject)
        limits = self._limits
        inbox = Inbox(heard, limits, qos=form.qos, retained=False, limit_bytes=limits.report_bytes)
        async with aclosing(_messages(broker, inbox, subject)) as messages:
            async for came in messages:
                yield [Arrival(payload) for _, payload in came]

    async def announcements(self, broker_url: str, heard: str) -> AsyncIterator[tuple[str, bytes]]:
        """Yield topic and payload of what is kept and published under a filter with wildcards.

        The filter shouldn't cover topics that are watched as well: a broker may then send each message
        twice (MQTT 3.1.1 §3.3.5).

        Args:
            broker_url: the broker, for example "mqtt://192.0.2.9:1883".
            heard: the filter, for example "found/+/about".

        Raises:
            PlanError: the address or the filter is none.
            LinkError: the broker can't be reached, or stayed away.
            UnitError: the broker refused.
        """
        broker = self._broker(broker_url, broker_url)
        try:
            held = hold_filter(heard)
        except ValueError as reason:
            raise words.no_topic(broker_url, str(reason)) from reason
        limits = self._limits
        inbox = Inbox(held, limits, qos=1, retained=True, limit_bytes=limits.value_bytes)
        async with aclosing(_messages(broker, inbox, broker_url)) as messages:
            async for came in messages:
                for topic, payload in came:
                    yield topic, payload

    def counts(self, broker_url: str) -> BrokerCounts:
        """Return what happened at a broker so far.

        Raises:
            PlanError: the address is none.
        """
        return self._broker(broker_url, broker_url).counts()

    def access_in_words(self, broker_url: str) -> str:
        """Return how a broker lets us in: "open over mqtt", "password over mqtts", ...

        Raises:
            PlanError: the address is none.
        """
        address = self._broker(broker_url, broker_url).address
        source = self._credentials
        known = source is not None and source.credential_for(address.origin) is not None
        return f"{'password' if known else 'open'} over {'mqtts' if address.secure else 'mqtt'}"

    def accept_certificate(self, key: str) -> None:
        """Keep the certificate that a broker showed in place of the known one: a person's act.

        Args:
            key: of the `CertificateChangedError`, the broker's origin.

        Raises:
            PlanError: none was refused there at this visit.
        """
        self._pinning.accept(key)

    def try_again(self, key: str) -> None:
        """Let a name and password that a broker refused be tried again: a person's act.

        Args:
            key: of the `LockedError`, the broker's origin.
        """
        if key in self._brokers:
            self._brokers[key].try_again()

    async def close(self) -> None:
        """End every connection; whoever listens is told."""
        self._closed = True
        await asyncio.gather(*(broker.close() for broker in self._brokers.values()))

    def _broker(self, url: str, subject: str) -> Broker:
        if self._closed:
            raise words.closed(subject)
        try:
            address = broker_address(url)
        except ValueError as reason:
            raise words.no_topic(subject, str(reason)) from reason
        if address.origin not in self._brokers:
            broker = Broker(address, self._credentials, self._pinning, self._limits)
            self._brokers[address.origin] = broker
        return self._brokers[address.origin]


async def _first(inbox: Inbox, broker: Broker, subject: str) -> bytes:
    while True:
        for _, payload in await inbox.take():
            return payload
        if inbox.oversize:
            raise words.too_long(subject, inbox.heard, broker.limits.value_bytes)
        await broker.join(inbox, subject)


async def _messages(
    broker: Broker, inbox: Inbox, subject: str
) -> AsyncGenerator[list[tuple[str, bytes]], None]:
    try:
        await broker.join(inbox, subject)
        while True:
            if came := await inbox.take():
                yield came
            await broker.rejoin(inbox, subject)
    finally:
        await broker.leave(inbox)


def _topic(topic: str, subject: str) -> str:
    try:
        return hold_topic(topic)
    except ValueError as reason:
        raise words.no_topic(subject, str(reason)) from reason

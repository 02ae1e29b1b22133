"""Talking to one unit: its properties, its actions, and what is watched of it.

What to send is decided by `fleet.description` alone; here it goes the way that the description's form
names: by requests, through a broker, or part by part.
"""

from collections.abc import AsyncIterator, Sequence
from typing import Any, Protocol

from fleet.description.documents import parse_json
from fleet.description.forms import Form
from fleet.description.origins import is_broker
from fleet.description.publications import publication
from fleet.description.requests import (
    Request,
    invoke_request,
    observe_request,
    read_request,
    write_request,
)
from fleet.description.stated import stated
from fleet.description.things import Affordance, Thing
from fleet.description.vocabulary import label_of
from fleet.link.actions import GONE, ActionStatus, Invoked, first_status, gone, next_status
from fleet.link.arrivals import Arrival, ReadValue
from fleet.link.asking import Asker, Options, refusal, succeeded
from fleet.link.assembled import read_assembled, watch_assembled, write_assembled
from fleet.link.watching import polled, pushed
from fleet.link.ways import Way, poll_every_s, watching
from fleet.link.ways_in import way_in
from fleet.model.clock import Clock
from fleet.model.errors import PlanError, UnitError

_CHANGING = ("writeproperty", "invokeaction")


class BrokerPort(Protocol):
    """What a link needs of the visit's brokers; see `fleet.link.mqtt.Brokers`."""

    async def read(self, form: Form, subject: str) -> bytes:
        """Return the value that a broker keeps, or the next that comes."""
        ...

    async def publish(self, form: Form, body: bytes, subject: str) -> None:
        """Publish a value or an action's argument."""
        ...

    def watch(self, form: Form, subject: str) -> AsyncIterator[list[Arrival]]:
        """Yield what is published from now on."""
        ...

    def access_in_words(self, broker_url: str) -> str:
        """Return how a broker lets us in."""
        ...


class UnitLink:
    """The way to one unit.

    Attributes:
        thing: its description.
        subject: how it is named in messages.
        asker: sends its requests.
        retry_ms: how long it asks to wait before a stream is opened again; None where it doesn't say.
    """

    def __init__(
        self,
        thing: Thing,
        asker: Asker,
        brokers: BrokerPort | None,
        clock: Clock | None = None,
    ) -> None:
        """Make a link over the visit's clients; the clock dates parts that are put together."""
        self.thing = thing
        self.subject = thing.subject
        self.asker = asker
        self.retry_ms: int | None = None
        self._brokers = brokers
        self._reads: dict[str, Request] = {}
        self._clock = clock

    @property
    def keys(self) -> tuple[str, ...]:
        """What a secret for the unit may be kept under: its description's id, if any, and its origin."""
        return self.asker.entry.keys

    def need_property(self, type_iri: str) -> Affordance:
        """Return the unit's property of a type.

        Raises:
            UnitError: it describes none.
        """
        return self._needed(self.thing.property_of(type_iri), type_iri)

    def need_action(self, type_iri: str) -> Affordance:
        """Return the unit's action of a type.

        Raises:
            UnitError: it describes none.
        """
        return self._needed(self.thing.action_of(type_iri), type_iri)

    def _needed(self, affordance: Affordance | None, type_iri: str) -> Affordance:
        if affordance is None:
            raise UnitError(
                f"its description names no {label_of(type_iri)}.",
                subject=self.subject,
                stands="Nothing was sent to it.",
            )
        return affordance

    async def read(self, affordance: Affordance) -> ReadValue:
        """Read a property.

        Raises:
            PlanError: the description has no way to read it.
            LinkError: the unit can't be reached.
            LockedError: it wants a secret, or refused the one that is kept.
            UnitError: it refused, or answered no JSON.
        """
        if affordance.parts:
            return await read_assembled(self, affordance)
        known = stated(affordance)
        if known is not None:
            return ReadValue(known, None)
        body, etag = await self._read_bytes(affordance)
        return ReadValue(parse_json(body, subject=self.subject), etag)

    async def write(self, affordance: Affordance, value: Any, etag: str | None) -> None:
        """Write a property's whole value; with a tag (ETag) only over what was read.

        A broker's receipt says nothing of the unit behind it, so what is written has to be read back.

        Raises:
            PlanError: the description rules the value out; nothing was sent.
            ChangedMeanwhileError: somebody else changed it since it was read.
            PartialWriteError: it has parts, and not all of them were written.
            LinkError: no answer came, or the unit failed inside: it may have been done all the same.
            LockedError, UnitError: as for `read`.
        """
        form = affordance.form("writeproperty")
        if affordance.parts:
            await write_assembled(self, affordance, value)
        elif form is not None and is_broker(form.url):
            message = publication(self.thing, affordance, value)
            await self._through_broker().publish(form, message.payload, self.subject)
        else:
            request = write_request(self.thing, affordance, value, etag)
            await self.asker.ask(request, _options(form))

    async def invoke(self, affordance: Affordance, argument: Any = None) -> Invoked:
        """Invoke an action; it may go on after this returns, as `Invoked.status` says.

        Raises:
            PlanError, LinkError, LockedError, UnitError: as for `write`.
        """
        form = affordance.form("invokeaction")
        if form is not None and is_broker(form.url):
            message = publication(self.thing, affordance, argument)
            await self._through_broker().publish(form, message.payload, self.subject)
            return Invoked(affordance.name, ActionStatus("completed"))
        request = invoke_request(self.thing, affordance, argument)
        answer = await self.asker.ask(request, _options(form))
        return Invoked(affordance.name, first_status(self.thing, request, answer), _options(form))

    async def status(self, invoked: Invoked) -> ActionStatus:
        """Return how an action stands now.

        Raises:
            StatusGoneError: the unit no longer knows of it.
            LinkError, LockedError, UnitError: as for `read`.
        """
        asked = invoked.status.status_request
        if asked is None:
            return invoked.status
        answer = await self.asker.answer_in_turn(asked, invoked.options)
        if answer.status in GONE:
            raise gone(invoked.name, self.subject)
        if not succeeded(answer):
            raise refusal(asked, answer, self.subject)
        return next_status(answer, asked, self.subject)

    async def cancel(self, invoked: Invoked) -> None:
        """Cancel an action that goes on; one that is over stays as it is.

        Raises:
            StatusGoneError: the unit no longer knows of it.
            LinkError, LockedError, UnitError: as for `write`.
        """
        asked = invoked.status.status_request
        if asked is None:
            return
        request = Request("DELETE", asked.url, asked.headers)
        answer = await self.asker.answer_in_turn(request, invoked.options)
        if answer.status in GONE:
            raise gone(invoked.name, self.subject)
        if not succeeded(answer):
            raise refusal(request, answer, self.subject)

    def way_of(self, affordance: Affordance) -> str:
        """Return how a property or an event is watched, in words; "" where it can't be."""
        ways = [found.way for part in self._parts(affordance) if (found := watching(part))]
        # Of several parts the least lively one says what to expect.
        return max(ways, key=list(Way).index).value if ways else ""

    def observe(
        self, affordance: Affordance, last_event_id: str = ""
    ) -> AsyncIterator[list[Arrival]]:
        """Watch a property or an event the best way that is offered, until the unit ends it.

        An event stream sends changes, not a first value: open it, then read. What comes first is an empty
        list, which says that it is open. A stream outlives no unit:
        whoever watches opens it again, after `retry_ms` where the unit asks for that.

        Raises:
            PlanError: it can't be watched.
            LinkError: the unit can't be reached, or fell silent.
            LockedError, UnitError: as for `read`; or what it sent is no stream.
        """
        if affordance.parts:
            if self._clock is None:
                raise self._unwatchable(affordance, "without a clock its parts have no age")
            return watch_assembled(self, affordance, self._clock.monotonic_s)
        found = watching(affordance)
        if found is None:
            raise self._unwatchable(affordance, "the description has no form for it")
        if found.way is Way.BROKER:
            return self._through_broker().watch(found.form, self.subject)
        if found.way is Way.POLLED:
            every_s = poll_every_s(affordance, found.form, self.asker.wire.limits)
            return polled(lambda: self._value(affordance), every_s)
        request = observe_request(self.thing, found.affordance, last_event_id)
        return pushed(self.asker, found, request, self._note_retry)

    def _unwatchable(self, affordance: Affordance, reason: str) -> PlanError:
        return PlanError(
            f"its {affordance.name} can't be watched: {reason}.",
            subject=self.subject,
            stands="Nothing was sent.",
        )

    def _note_retry(self, retry_ms: int | None) -> None:
        self.retry_ms = retry_ms

    async def _value(self, affordance: Affordance) -> bytes:
        body, _ = await self._read_bytes(affordance)
        return body

    async def _read_bytes(self, affordance: Affordance) -> tuple[bytes, str | None]:
        form = affordance.form("readproperty")
        if form is not None and is_broker(form.url):
            return await self._through_broker().read(form, self.subject), None
        request = self._reads.get(affordance.name)
        if request is None:
            request = self._reads[affordance.name] = read_request(self.thing, affordance)
        answer = await self.asker.ask(request, _options(form))
        return answer.body, answer.headers.get("etag")

    def access(self, forms: Sequence[Form]) -> str:
        """Return the easiest way in of some forms, in words; of the description where there are none."""
        secure = self.asker.route.secure
        words = [way_in(form.security, secure=secure) for form in forms if not is_broker(form.url)]
        brokers = {form.url for form in forms if is_broker(form.url)}
        words += [self._through_broker().access_in_words(url) for url in sorted(brokers)]
        return min(words or [way_in(self.thing.security, secure=secure)], key=_difficulty)

    def _parts(self, affordance: Affordance) -> list[Affordance]:
        names = [part.name for part in affordance.parts]
        return [self.thing.properties[name] for name in names] or [affordance]

    def _through_broker(self) -> BrokerPort:
        if self._brokers is None:
            raise PlanError(
                "it is behind a broker, and none was named.",
                subject=self.subject,
                stands="Nothing was sent.",
                next_step="Name the broker, so that the unit is spoken to through it.",
            )
        return self._brokers


def _difficulty(words: str) -> tuple[bool, bool, bool]:
    """Rank words about access: open first, then what can be read on the way, digest after the rest."""
    encrypted = words.endswith(("over https", "over mqtts"))
    return not words.startswith("open"), encrypted, words.startswith("digest")


def _options(form: Form | None) -> Options:
    return form.security if form else ()


def access_in_words(link: UnitLink) -> str:
    """Return how a unit lets people in where it is easiest to change something.

    Returns:
        "open", "password over http", "digest password over https", "token over https", "key over http",
        or what a broker asks for ("password over mqtts").
    """
    affordances = (*link.thing.properties.values(), *link.thing.actions.values())
    forms = [form for one in affordances for op in _CHANGING if (form := one.form(op))]
    return link.access(forms)

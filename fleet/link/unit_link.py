"""Talking to one unit: its description, its properties, its actions and its streams.

What to send is decided by `fleet.description` alone; here bytes go out and come in, errors get words, and
one request at a time goes to a unit.
"""

import json
from collections.abc import AsyncIterator, Mapping
from dataclasses import dataclass
from typing import Any

import aiohttp

from fleet.description.event_stream import EventStreamDecoder, StreamEvent
from fleet.description.problems import problem_sentence
from fleet.description.requests import (
    Request,
    invoke_request,
    observe_request,
    read_request,
    write_request,
)
from fleet.description.things import Affordance, Thing, read_thing
from fleet.description.vocabulary import label_of
from fleet.link.connections import (
    STREAM_SILENCE_S,
    Answer,
    Courtesy,
    exchange,
    open_session,
    unreachable,
)
from fleet.model.errors import LinkError, UnitError

HTTP_OK = 200
HTTP_REDIRECTS = 300  # success is 2xx; a redirect is a refusal here, since none is followed
HTTP_PRECONDITION_FAILED = 412
HTTP_SERVER_ERRORS = 500


@dataclass(frozen=True, slots=True)
class ReadValue:
    """A property's value as it was read, with its tag (ETag) where the unit gave one."""

    value: Any
    etag: str | None


class ChangedMeanwhileError(UnitError):
    """The unit holds something newer than what was read (412): somebody else changed it."""


class UnitLink:
    """The way to one unit.

    Attributes:
        thing: its description.
        subject: how it is named in messages.
    """

    def __init__(
        self, session: aiohttp.ClientSession, courtesy: Courtesy, thing: Thing, subject: str
    ) -> None:
        """Make a link over the visit's session."""
        self.thing = thing
        self.subject = subject
        self._session = session
        self._courtesy = courtesy

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
            LinkError: the unit can't be reached.
            UnitError: it refused, or answered no JSON.
        """
        answer = await self._send(read_request(self.thing, affordance))
        return ReadValue(self._json(answer, affordance), answer.headers.get("etag"))

    async def write(self, affordance: Affordance, value: Any, etag: str | None) -> None:
        """Write a property's whole value; with a tag (ETag) only over what was read.

        Raises:
            PlanError: the description rules the value out; nothing was sent.
            ChangedMeanwhileError: somebody else changed it since it was read.
            LinkError: no answer came, or the unit failed inside: it may have been done all the same.
            UnitError: the unit refused.
        """
        await self._send(write_request(self.thing, affordance, value, etag))

    async def invoke(self, affordance: Affordance, argument: Any = None) -> None:
        """Invoke an action.

        Raises:
            PlanError, LinkError, UnitError: as for `write`.
        """
        await self._send(invoke_request(self.thing, affordance, argument))

    async def observe(
        self, affordance: Affordance, last_event_id: str = ""
    ) -> AsyncIterator[list[StreamEvent]]:
        """Watch a property; yields the events of each arrival, until the unit ends the stream.

        Raises:
            LinkError: the unit can't be reached, or fell silent.
            UnitError: it refused, or sent no event stream.
        """
        request = observe_request(self.thing, affordance, last_event_id)
        decoder = EventStreamDecoder()
        silence = aiohttp.ClientTimeout(total=None, sock_connect=3.0, sock_read=STREAM_SILENCE_S)
        try:
            async with self._session.get(
                request.url, headers=dict(request.headers), timeout=silence, allow_redirects=False
            ) as response:
                if response.status != HTTP_OK:
                    raise UnitError(
                        f"it refused the stream ({response.status}).", subject=self.subject
                    )
                while not response.content.at_eof():
                    events = decoder.feed(await response.content.readany())
                    if events:
                        yield events
        except (aiohttp.ClientError, TimeoutError, OSError) as reason:
            raise unreachable(reason, self.subject) from reason

    async def _send(self, request: Request) -> Answer:
        async with self._courtesy.units, self._courtesy.turn(self.thing.url):
            answer = await exchange(
                self._session,
                request.method,
                request.url,
                request.headers,
                request.body,
                subject=self.subject,
            )
        if answer.status < HTTP_REDIRECTS:
            return answer
        raise self._refusal(request, answer)

    def _refusal(self, request: Request, answer: Answer) -> UnitError | LinkError:
        said = problem_sentence(answer.status, answer.headers.get("content-type", ""), answer.body)
        if answer.status == HTTP_PRECONDITION_FAILED:
            return ChangedMeanwhileError(
                f"somebody else changed it since it was read: {said}",
                subject=self.subject,
                stands="Nothing was written.",
                next_step="Read it again and decide anew.",
            )
        if answer.status >= HTTP_SERVER_ERRORS:
            return LinkError(
                f"it failed inside: {said}",
                subject=self.subject,
                stands="What was asked of it may or may not have been done.",
                next_step="Read it again.",
            )
        return UnitError(
            f"it refused {request.method}: {said}",
            subject=self.subject,
            stands="Nothing was changed." if request.method != "GET" else "",
        )

    def _json(self, answer: Answer, affordance: Affordance) -> Any:
        try:
            return json.loads(answer.body)
        except (ValueError, RecursionError) as reason:
            raise UnitError(
                f"its answer for {affordance.name!r} is no JSON.",
                subject=self.subject,
                stands="The value counts as unread.",
            ) from reason


class Links:
    """All links of a visit over one client session; open it in the running loop and close it."""

    def __init__(self, td_schema: Mapping[str, Any]) -> None:
        """Make the session.

        Args:
            td_schema: the JSON Schema that descriptions are held against.
        """
        self._td_schema = td_schema
        self._session = open_session()
        self._courtesy = Courtesy()

    async def close(self) -> None:
        """Close every connection."""
        await self._session.close()

    async def describe(self, url: str, host: str = "") -> UnitLink:
        """Fetch and read a description.

        Args:
            url: where it lies.
            host: the `.local` name that the unit advertises as its own.

        Raises:
            LinkError: nothing answers there.
            UnitError: what answers is no presence unit, or can't be read.
        """
        headers = {"Accept": "application/td+json, application/json;q=0.9"}
        async with self._courtesy.units:
            answer = await exchange(self._session, "GET", url, headers, None, subject=url)
        if answer.status != HTTP_OK:
            raise UnitError(f"no description there ({answer.status}).", subject=url)
        own_names = frozenset({host} if host else ())
        thing = read_thing(answer.body, url, own_names=own_names, td_schema=self._td_schema)
        return UnitLink(self._session, self._courtesy, thing, thing.title or url)

"""Asking one unit: whose turn it is, what lets us in, the certificate first, then the request.

A secret goes out only after the unit's certificate was held against what is kept; it is seen on a first
connection that carries none.
"""

import asyncio
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass

import aiohttp

from fleet.description.problems import problem_sentence
from fleet.description.requests import Request
from fleet.description.security import SecurityOption
from fleet.link.authorizing import AT_THE_DOOR, MOST_TRIES, Attempt, Entry, turned_away
from fleet.link.connections import Answer, Waits, Wire
from fleet.link.echoes import hushed
from fleet.link.pinning import Pinning
from fleet.link.routes import Route
from fleet.link.turns import Courtesy
from fleet.model.errors import LinkError, UnitError

HTTP_OK = 200
HTTP_REDIRECTS = 300  # success is 2xx; a redirect is a refusal here, since none is followed
HTTP_PRECONDITION_FAILED = 412
HTTP_SERVER_ERRORS = 500

Options = Sequence[SecurityOption]


class ChangedMeanwhileError(UnitError):
    """The unit holds something newer than what was read (412): somebody else changed it."""


@dataclass(frozen=True, slots=True)
class Means:
    """What all links of a visit share."""

    wire: Wire
    courtesy: Courtesy
    pinning: Pinning


class Asker:
    """The way of requests to one unit.

    Attributes:
        route: where its requests may go.
        entry: what lets us in.
    """

    def __init__(self, means: Means, route: Route, entry: Entry) -> None:
        """Ask over what the visit shares."""
        self.route, self.entry = route, entry
        self._means = means

    @property
    def wire(self) -> Wire:
        """The visit's clients."""
        return self._means.wire

    @property
    def subject(self) -> str:
        """How the unit is named in messages."""
        return self.entry.subject

    async def ask(self, request: Request, options: Options) -> Answer:
        """Send a request in the unit's turn; return its answer if it is a success.

        Raises:
            LinkError: no answer came, or the unit failed inside: it may have been done all the same.
            LockedError: it wants a secret, or refused the one it got.
            ChangedMeanwhileError: somebody else changed what was to be replaced.
            UnitError: it refused.
        """
        answer = await self.answer_in_turn(request, options)
        if succeeded(answer):
            return answer
        raise refusal(request, answer, self.subject)

    async def answer_in_turn(self, request: Request, options: Options) -> Answer:
        """Send a request in the unit's turn; return whatever it answers once it let us in.

        Raises:
            LinkError, LockedError, UnitError: as for `ask`, but for refusals that have other reasons.
        """
        async with self._means.courtesy.turn(self._origin):
            return await self.answer(request, options)

    async def answer(self, request: Request, options: Options) -> Answer:
        """Do the same outside of the turns, for whoever has the turn.

        Raises:
            LinkError, LockedError, UnitError: as for `answer_in_turn`.
        """
        for _ in range(MOST_TRIES):
            attempt = self._attempt(request, options)
            answer = await self.wire.exchange(self.route, attempt.request, subject=self.subject)
            answer = hushed(answer, attempt.credential)
            if answer.status not in AT_THE_DOOR:
                self.entry.let_in(attempt)
                return answer
            if not self._again(attempt, options, answer):
                return answer
        raise self._endless()

    @asynccontextmanager
    async def opened(
        self, request: Request, options: Options, waits: Waits
    ) -> AsyncIterator[aiohttp.ClientResponse]:
        """Send a request outside of the turns and hand on its answer as it arrives.

        The client's own errors come through, as whoever reads on has to word them anyway.

        Raises:
            LockedError, UnitError: as for `ask`.
        """
        for _ in range(MOST_TRIES):
            attempt = self._attempt(request, options)
            async with await self.wire.open(self.route, attempt.request, waits) as response:
                if HTTP_OK <= response.status < HTTP_REDIRECTS:
                    self.entry.let_in(attempt)
                    yield response
                    return
                async with asyncio.timeout(self.wire.limits.whole_s):
                    answer = await self.wire.whole(response, self.subject)
            self.judge(attempt, request, options, answer)
        raise self._endless()

    async def socket(
        self, request: Request, options: Options, largest_bytes: int
    ) -> aiohttp.ClientWebSocketResponse:
        """Open a WebSocket; the client's own errors come through but for the unit's refusals.

        Raises:
            LockedError, UnitError: as for `ask`.
        """
        for _ in range(MOST_TRIES):
            attempt = self._attempt(request, options)
            try:
                found = await self.wire.socket(self.route, attempt.request, largest_bytes)
            except aiohttp.WSServerHandshakeError as reason:
                answer = _handshake(reason)
            else:
                self.entry.let_in(attempt)
                return found
            self.judge(attempt, request, options, answer)
        raise self._endless()

    def judge(self, attempt: Attempt, request: Request, options: Options, answer: Answer) -> None:
        """Return if the request is worth another try.

        Raises:
            LockedError, UnitError, LinkError: it isn't.
        """
        answer = hushed(answer, attempt.credential)
        if answer.status not in AT_THE_DOOR or not self._again(attempt, options, answer):
            raise refusal(request, answer, self.subject)

    def failure(self, reason: BaseException) -> LinkError:
        """Word what broke a stream; raise it where no exception is being handled."""
        return self.wire.failure(reason, self.route, self.subject)

    def hold_certificate(self) -> None:
        """Hold the certificate that was shown against what is kept under the unit's keys.

        Raises:
            CertificateChangedError: another one is known.
        """
        if self.route.secure:
            shown = self.route.sha256
            self.route.pin = self._means.pinning.hold(self.entry.named_by, shown, self.subject)
            self.entry.take_certificate(shown)

    @property
    def _origin(self) -> str:
        return self.entry.keys[-1]

    def _attempt(self, request: Request, options: Options) -> Attempt:
        attempt = self.entry.attempt(request, options)
        if attempt.credential is not None and self.route.secure and self.route.pin is None:
            self.hold_certificate()
        return attempt

    def _again(self, attempt: Attempt, options: Options, answer: Answer) -> bool:
        if self.route.secure and self.route.pin is None:
            self.hold_certificate()  # what is kept for it may be kept for its certificate
        away = turned_away(answer.status, answer.headers, answer.challenges, answer.body)
        return self.entry.may_try_again(attempt, options, away)

    def _endless(self) -> UnitError:
        return UnitError(
            "it asks again and again who we are.",
            subject=self.subject,
            next_step="Restart the unit; if that stays, its build is at fault.",
        )


def succeeded(answer: Answer) -> bool:
    """Say whether an answer is a success; a redirect isn't, since none is followed."""
    return HTTP_OK <= answer.status < HTTP_REDIRECTS


def refusal(request: Request, answer: Answer, subject: str) -> UnitError | LinkError:
    """Return the error for an answer that is no success."""
    said = problem_sentence(answer.status, answer.headers.get("content-type", ""), answer.body)
    changes = request.method != "GET"
    if answer.status == HTTP_PRECONDITION_FAILED:
        return ChangedMeanwhileError(
            f"somebody else changed it since it was read: {said}",
            subject=subject,
            stands="Nothing was written.",
            next_step="Read it again and decide anew.",
        )
    if answer.status >= HTTP_SERVER_ERRORS:
        return LinkError(
            f"it failed inside: {said}",
            subject=subject,
            stands="What was asked of it may or may not have been done." if changes else "",
            next_step="Read it again.",
        )
    return UnitError(
        f"it refused {request.method}: {said}",
        subject=subject,
        stands="Nothing was changed." if changes else "",
    )


def _handshake(reason: aiohttp.WSServerHandshakeError) -> Answer:
    headers = list(reason.headers.items()) if reason.headers else []
    lowered = {name.lower(): value for name, value in headers}
    challenges = tuple(value for name, value in headers if name.lower() == "www-authenticate")
    return Answer(reason.status, lowered, b"", challenges)

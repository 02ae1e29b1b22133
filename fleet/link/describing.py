"""Fetching a description, and what has to be settled before anything else is asked of its unit.

1. The first request carries no secret, and on https takes the certificate as it is.
2. If the description itself wants a password, the certificate is held first, then the unit's own challenge
   is followed.
3. The description's id says which certificate is the unit's, and from which password a digest is made. It
   proves nothing, so what the unit could read is kept under its certificate or its origin, and goes
   nowhere else (`fleet.link.own_secrets`).
4. All of it together has a time, after which the unit is given up.
"""

import asyncio
from collections.abc import Mapping
from typing import Any

from fleet.description.documents import Json, parse_document
from fleet.description.expansion import read_prefixes
from fleet.description.origins import is_http, origin_of
from fleet.description.requests import Request
from fleet.description.things import Thing, read_thing
from fleet.description.vocabulary import PRES
from fleet.link.asking import Asker, Means
from fleet.link.authorizing import Entry
from fleet.link.connections import Answer, hold_no_secret, unreachable
from fleet.link.limits import Limits
from fleet.link.refusals import Refusals
from fleet.link.routes import Route, route_to
from fleet.model.credentials import CredentialSource
from fleet.model.errors import LinkError, PlanError, UnitError

CONCURRENT_REQUESTS = PRES + "concurrentRequests"
"""A description's own term: how many requests at once its unit takes."""

_MOST_AT_ONCE = 8
_HTTP_OK = 200
_HTTP_SERVER_ERRORS = 500
_ACCEPTED = {"Accept": "application/td+json, application/json;q=0.9"}


class Describing:
    """Fetches and reads descriptions over what a visit shares."""

    def __init__(
        self,
        means: Means,
        limits: Limits,
        td_schema: Mapping[str, Any],
        source: CredentialSource | None,
        refusals: Refusals,
    ) -> None:
        """Hold descriptions against a JSON Schema; ask a source for what lets us in."""
        self._means, self._limits, self._td_schema = means, limits, td_schema
        self._source, self._refusals = source, refusals

    async def fetched(self, url: str) -> bytes:
        """Return what lies at an address.

        Raises:
            PlanError: it is no address of a unit.
            LinkError: nothing answers there.
            UnitError: nothing lies there.
        """
        _, answer = await self._fetch(url, {"Accept": "application/json, */*;q=0.5"})
        return answer.body

    async def described(self, url: str, host: str) -> tuple[Thing, Asker]:
        """Fetch a description and read it; see `Links.describe`."""
        asker, answer = await self._fetch(url, _ACCEPTED)
        own_names = frozenset({host} if host else ())
        thing = read_thing(answer.body, url, own_names=own_names, td_schema=self._td_schema)
        self._settle(thing, asker)
        at_once = _requests_at_once(parse_document(answer.body, subject=url))
        if at_once > 1:
            self._means.courtesy.allow(origin_of(url), at_once)
        return thing, asker

    async def given(
        self, raw: bytes, url: str, host: str, brokers: frozenset[str]
    ) -> tuple[Thing, Asker]:
        """Read a description that was made for a unit; see `Links.describe_as`."""
        own_names = frozenset({host} if host else ())
        thing = read_thing(
            raw, url, own_names=own_names, brokers=brokers, td_schema=self._td_schema
        )
        asker = self._asker(url)
        if asker.route.secure:  # its certificate has to be seen before anything is sent
            await asker.wire.exchange(asker.route, Request("GET", url), subject=url)
        self._settle(thing, asker)
        return thing, asker

    async def _fetch(self, url: str, headers: Mapping[str, str]) -> tuple[Asker, Answer]:
        asker = self._asker(url)
        try:
            async with self._means.courtesy.turn(asker.entry.keys[-1]):
                async with asyncio.timeout(self._limits.describe_s):
                    answer = await asker.answer(Request("GET", url, headers), ())
        except TimeoutError as reason:
            failure = unreachable(reason, url)
        else:
            if answer.status >= _HTTP_SERVER_ERRORS:
                raise LinkError(
                    f"it failed inside ({answer.status}).",
                    subject=url,
                    stands="Nothing of it was read.",
                    next_step="It may be starting; it is tried again.",
                )
            if answer.status != _HTTP_OK:
                raise UnitError(f"no description there ({answer.status}).", subject=url)
            return asker, answer
        raise failure

    def _asker(self, url: str) -> Asker:
        try:
            origin = origin_of(url)
        except ValueError as broken:
            raise PlanError("that is no address of a unit.", subject=url) from broken
        hold_no_secret(url)
        route = route_to(url) if is_http(url) else Route("", 0, secure=False)
        return Asker(self._means, route, Entry(self._source, self._refusals, origin, url))

    def _settle(self, thing: Thing, asker: Asker) -> None:
        """Take the unit's own name and id up, and hold its certificate.

        Raises:
            CertificateChangedError: it is known by another, or by one and shows none.
        """
        entry = asker.entry
        entry.take_up(thing.subject, thing.id)
        if asker.route.secure:
            asker.hold_certificate()
        elif is_http(thing.url):
            self._means.pinning.hold_plain(entry.named_by, thing.subject)


def _requests_at_once(document: Mapping[str, Json]) -> int:
    prefixes = read_prefixes(document.get("@context"))
    said = {prefixes.expand(name): value for name, value in document.items()}
    number = said.get(CONCURRENT_REQUESTS)
    sound = isinstance(number, int) and not isinstance(number, bool)
    return min(max(number, 1), _MOST_AT_ONCE) if isinstance(number, int) and sound else 1

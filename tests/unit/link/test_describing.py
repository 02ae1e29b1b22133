"""Descriptions fetched or made, and what is settled by them, against small real servers."""

import asyncio
import json
from dataclasses import replace

import aiohttp
import pytest
from aiohttp import web

from fleet.description.vocabulary import IDENTITY, SETTINGS, TARGET_FRAME
from fleet.link.refusals import LockedError, Refusals
from fleet.link.routes import HeldConnector, Route, WanderedError, route_to
from fleet.link.unit_link import access_in_words
from fleet.model.credentials import Credential
from fleet.model.errors import LinkError, PlanError, UnitError
from tests.unit.link.small_unit import (
    PASSWORD,
    SHORT,
    Anywhere,
    DigestGuard,
    Kept,
    SmallUnit,
    basic,
    certificate_for,
    description,
    linked,
    opened,
    served,
)


async def test_what_lies_beside_a_description_is_fetched():
    async with served(SmallUnit()) as origin, opened() as links:
        assert json.loads(await links.fetch(f"{origin}/about")) == {"serial": "s-7"}
        with pytest.raises(UnitError, match="404"):
            await links.fetch(f"{origin}/nothing")


async def test_a_description_that_takes_too_long_in_all_is_given_up():
    async def slow(_request):
        await asyncio.sleep(60)

    unit = SmallUnit()
    unit.routes["GET /td"] = slow
    limits = replace(SHORT, describe_s=0.1, silence_s=9.0, whole_s=9.0)
    async with served(unit) as origin, opened(limits=limits) as links:
        with pytest.raises(LinkError, match="didn't answer in time"):
            await links.describe(f"{origin}/td")


async def test_a_made_description_asks_nothing_until_something_is_read():
    unit = SmallUnit()
    async with served(unit) as origin, opened() as links:
        link = await links.describe_as(json.dumps(description()).encode(), f"{origin}/any")
        assert unit.asked == []
        assert (await link.read(link.need_property(IDENTITY))).value == {"serial": "s-7"}


async def test_a_stated_value_is_read_from_the_description():
    document = description()
    document["properties"]["about"] = {
        "@type": "pres:Identity",
        "type": "object",
        "properties": {"serial": {"@type": "pres:SerialNumber", "const": "s-8"}},
    }
    unit = SmallUnit(document)
    async with linked(unit) as link:
        assert (await link.read(link.need_property(IDENTITY))).value == {"serial": "s-8"}
    assert unit.paths() == ["/td"]


async def test_a_unit_behind_a_broker_is_asked_nothing_over_http():
    document = description("none", [{"href": "targets", "op": "readproperty"}])
    async with opened() as links:
        link = await links.describe_as(json.dumps(document).encode(), "mqtt://127.0.0.1:1883/u7/")
        with pytest.raises(PlanError, match="none was named"):
            await link.read(link.need_property(TARGET_FRAME))


@pytest.mark.parametrize("way", ["digest over http", "basic over https"])
async def test_a_secret_under_id_or_certificate_comes_before_one_under_the_origin(tmp_path, way):
    kind, _, carrier = way.split()
    unit = SmallUnit(description(kind), DigestGuard() if kind == "digest" else basic())
    certificate, key = None, "urn:uuid:7"
    if carrier == "https":
        certificate, fingerprint = certificate_for(tmp_path)
        key = f"sha-256:{fingerprint}"
    async with served(unit, certificate) as origin:
        wrong = Credential("wrong", "fitter")
        async with opened(Kept(**{key: PASSWORD, origin: wrong})) as links:
            link = await links.describe(f"{origin}/td")
            assert (await link.read(link.need_property(IDENTITY))).value == {"serial": "s-7"}
        async with opened(Kept(**{origin: PASSWORD})) as links:
            link = await links.describe(f"{origin}/td")
            assert (await link.read(link.need_property(IDENTITY))).value == {"serial": "s-7"}


async def test_a_password_over_http_is_the_one_under_the_origin_whatever_is_under_the_id():
    unit = SmallUnit(description("basic"), basic())
    async with served(unit) as origin:
        wrong = Credential("wrong", "fitter")
        async with opened(Kept(**{"urn:uuid:7": wrong, origin: PASSWORD})) as links:
            link = await links.describe(f"{origin}/td")
            assert (await link.read(link.need_property(IDENTITY))).value == {"serial": "s-7"}
    assert unit.paths() == ["/td", "/about"]


@pytest.mark.parametrize(
    ("security", "own", "words"),
    [
        ("none", None, "open"),
        ("basic", None, "password over http"),
        ("basic", "none", "open"),
        ("digest", "basic", "password over http"),
        ("either", None, "token over http"),
        ("body", None, "key over http"),
        ("nobody knows", None, "undefined over http"),
    ],
)
async def test_access_is_told_by_the_easiest_way_to_change_something(security, own, words):
    document = description(security)
    if own:
        document["actions"]["install"]["forms"][0]["security"] = own
    async with linked(SmallUnit(document)) as link:
        assert access_in_words(link) == words


async def test_access_to_what_can_only_be_read_is_told_too():
    document = description("bearer", actions={})
    document["properties"]["tuning"]["readOnly"] = True
    async with linked(SmallUnit(document)) as link:
        assert access_in_words(link) == "token over http"


@pytest.mark.parametrize("name", ["about", "ws"])
async def test_a_stream_that_asks_for_ever_is_given_up(name):
    def again(_request, _body):
        challenge = f'Digest realm="r", nonce="{len(unit.asked)}", qop="auth", stale=true'
        return web.Response(status=401, headers={"WWW-Authenticate": challenge})

    href = "ws://127.0.0.1/live" if name == "ws" else "live"
    forms = [{"href": href, "op": "observeproperty", "subprotocol": "sse"}]
    unit = SmallUnit(description("digest", forms), again)
    async with linked(unit, Anywhere(PASSWORD)) as link:
        with pytest.raises(UnitError, match="again and again"):
            await anext(link.observe(link.need_property(TARGET_FRAME)))


async def test_a_lock_ends_with_its_time_or_by_a_person():
    refusals = Refusals()
    refusals.lock(["a", "b"], 0)
    refusals.lock(["c"], 300)
    assert refusals.is_locked(["b", "z"])
    await asyncio.sleep(0.01)
    assert not refusals.is_locked(["a", "b"])
    assert refusals.is_locked(["c"])
    refusals.forget("c")
    assert not refusals.is_locked(["c"])


async def test_a_secret_that_only_reads_writes_nothing():
    unit = SmallUnit(description("basic"), basic(status=403))
    async with linked(unit, Anywhere(Credential("wrong", "x"))) as link:
        with pytest.raises(LockedError, match="doesn't allow that"):
            await link.write(link.need_property(SETTINGS), {"hold": 1}, None)
    assert unit.held == {"hold": 30}


async def test_a_request_without_a_route_goes_nowhere():
    unit = SmallUnit()
    async with served(unit) as origin, aiohttp.ClientSession(connector=HeldConnector()) as session:
        with pytest.raises(WanderedError):
            await session.get(f"{origin}/td")
    assert unit.asked == []


class Reached:
    """Stands for a connection to an address."""

    def __init__(self, address):
        self.address = address

    def get_extra_info(self, name):
        return (self.address, 80) if name == "peername" and self.address else None


@pytest.mark.parametrize("other", ["192.0.2.8", "::1", ""])
def test_a_connection_that_reached_somebody_else_is_refused(other):
    route = route_to("http://unit-7.local/td")
    route.hold_peer(Reached("192.0.2.7"))
    with pytest.raises(WanderedError):
        route.hold_peer(Reached(other))


def test_a_link_local_address_is_the_same_with_and_without_its_scope():
    route = Route("fe80::7", 80, secure=False)
    route.hold_peer(Reached("fe80::7%eth0"))
    route.hold_peer(Reached("fe80::7"))
    assert route.address == "fe80::7"

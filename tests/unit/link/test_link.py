"""A link against a small real server of our own on loopback."""

import contextlib

import pytest
from aiohttp import web

from fleet.description.vocabulary import IDENTIFY, IDENTITY, SETTINGS
from fleet.link import connections
from fleet.link.asking import ChangedMeanwhileError
from fleet.link.connections import description_url
from fleet.link.limits import Limits
from fleet.link.links import Links
from fleet.model.errors import LinkError, PlanError, UnitError

DESCRIPTION = {
    "@context": [
        "https://www.w3.org/2022/wot/td/v1.1",
        {"pres": "https://walkdown.example/presence#"},
    ],
    "@type": "pres:PresenceUnit",
    "id": "urn:uuid:1",
    "title": "Small unit",
    "securityDefinitions": {"none": {"scheme": "nosec"}},
    "security": "none",
    "properties": {
        "about": {
            "@type": "pres:Identity",
            "type": "object",
            "readOnly": True,
            "properties": {"serial": {"@type": "pres:SerialNumber", "type": "string"}},
            "forms": [{"href": "about"}],
        },
        "tuning": {
            "@type": "pres:Settings",
            "type": "object",
            "observable": True,
            "properties": {
                "hold": {"@type": "pres:HoldTime", "type": "integer", "maximum": 3600},
            },
            "forms": [
                {"href": "tuning", "op": "readproperty"},
                {"href": "tuning", "op": "writeproperty", "pres:concurrency": "if-match"},
                {"href": "watch", "op": "observeproperty", "subprotocol": "sse"},
            ],
        },
    },
}


class Unit:
    """What the server answers; a test changes it."""

    def __init__(self):
        self.answer = web.json_response
        self.asked = []
        self.tag = '"7"'
        self.write_status = 204

    async def describe(self, _request):
        return web.json_response(DESCRIPTION)

    async def about(self, request):
        self.asked.append(request.path)
        return self.answer({"serial": "s-1"})

    async def read(self, _request):
        return web.json_response({"hold": 30}, headers={"ETag": self.tag})

    async def write(self, request):
        self.asked.append((request.headers.get("If-Match"), await request.json()))
        return web.Response(status=self.write_status, text="no")

    async def watch(self, request):
        if self.write_status != 204:
            return web.Response(status=self.write_status)
        stream = web.StreamResponse(headers={"Content-Type": "text/event-stream"})
        await stream.prepare(request)
        await stream.write(b"id: 4\ndata: 1\n\ndata: 2\n\ndata: cut off")
        return stream


@contextlib.asynccontextmanager
async def linked():
    """Serve a unit and link to it."""
    unit, app = Unit(), web.Application()
    app.router.add_get("/td", unit.describe)
    app.router.add_get("/about", unit.about)
    app.router.add_get("/tuning", unit.read)
    app.router.add_put("/tuning", unit.write)
    app.router.add_get("/watch", unit.watch)
    runner = web.AppRunner(app)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0)
    await site.start()
    port = site._server.sockets[0].getsockname()[1]
    links = Links({})
    try:
        yield unit, await links.describe(f"http://127.0.0.1:{port}/td"), links
    finally:
        await links.close()
        await runner.cleanup()


async def test_a_property_is_read_with_its_tag():
    async with linked() as (_, link, _links):
        read = await link.read(link.need_property(SETTINGS))
    assert (read.value, read.etag) == ({"hold": 30}, '"7"')


async def test_a_write_goes_over_what_was_read():
    async with linked() as (unit, link, _):
        await link.write(link.need_property(SETTINGS), {"hold": 40}, '"7"')
    assert unit.asked == [('"7"', {"hold": 40})]


async def test_a_value_that_the_description_rules_out_is_never_sent():
    async with linked() as (unit, link, _):
        with pytest.raises(PlanError, match="9000"):
            await link.write(link.need_property(SETTINGS), {"hold": 9000}, '"7"')
    assert unit.asked == []


@pytest.mark.parametrize(
    ("status", "family", "words"),
    [
        (412, ChangedMeanwhileError, "somebody else changed it"),
        (422, UnitError, "Nothing was changed"),
        (500, LinkError, "may or may not have been done"),
        (302, UnitError, "refused"),
    ],
)
async def test_a_refused_write_says_whose_fault_it_is(status, family, words):
    async with linked() as (unit, link, _):
        unit.write_status = status
        with pytest.raises(family, match=words):
            await link.write(link.need_property(SETTINGS), {"hold": 40}, '"7"')


async def test_a_redirect_is_not_followed():
    async with linked() as (unit, link, _):
        unit.answer = lambda _: web.Response(status=307, headers={"Location": "/tuning"})
        with pytest.raises(UnitError, match="refused GET"):
            await link.read(link.need_property(IDENTITY))


async def test_an_answer_without_an_end_is_dropped():
    async with linked() as (unit, link, _):
        unit.answer = lambda _: web.Response(body=b"x" * (Limits().largest_answer_bytes + 1))
        with pytest.raises(UnitError, match="larger than 1 MiB"):
            await link.read(link.need_property(IDENTITY))


async def test_an_answer_that_is_no_json_counts_as_unread():
    async with linked() as (unit, link, _):
        unit.answer = lambda _: web.Response(text="<html>")
        with pytest.raises(UnitError, match="no JSON"):
            await link.read(link.need_property(IDENTITY))


async def test_a_stream_gives_whole_events_with_their_ids():
    async with linked() as (_, link, _links):
        seen = [e async for batch in link.observe(link.need_property(SETTINGS)) for e in batch]
    assert [(event.data, event.id) for event in seen] == [(b"1", "4"), (b"2", "4")]


async def test_a_refused_stream_is_said():
    async with linked() as (unit, link, _):
        unit.write_status = 503
        with pytest.raises(LinkError, match="it isn't ready"):
            [batch async for batch in link.observe(link.need_property(SETTINGS))]


async def test_what_the_unit_does_not_describe_is_named():
    async with linked() as (_, link, _links):
        with pytest.raises(UnitError, match="names no identify"):
            link.need_action(IDENTIFY)


async def test_where_nothing_answers_or_no_unit_lies_is_said():
    async with linked() as (_, link, links):
        origin = link.thing.url.removesuffix("/td")
        with pytest.raises(UnitError, match="no description there"):
            await links.describe(f"{origin}/nothing")
        with pytest.raises(UnitError, match="presence unit"):
            await links.describe(f"{origin}/about")
        with pytest.raises(LinkError, match="nothing answers"):
            await links.describe("http://127.0.0.1:9/")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("192.0.2.7:8080", "http://192.0.2.7:8080/.well-known/wot"),
        ("https://unit.local", "https://unit.local/.well-known/wot"),
        ("http://192.0.2.7/td", "http://192.0.2.7/td"),
    ],
)
def test_a_typed_address_is_filled_out(typed, meant):
    assert description_url(typed) == meant


@pytest.mark.parametrize("typed", ["", "ftp://x", "http://", "http://[::1", "http://x:99999/"])
def test_what_is_no_address_is_refused(typed):
    with pytest.raises(PlanError, match="no address"):
        description_url(typed)


async def test_the_scope_of_a_link_local_address_stays_out_of_the_host_header():
    unit = "[fe80::1%eth0]:8080"
    assert connections._unscoped_host(f"http://{unit}/td") == {"Host": "[fe80::1]:8080"}
    assert connections._unscoped_host("http://[fe80::1%25eth0]/td") == {"Host": "[fe80::1]"}
    assert connections._unscoped_host("http://192.0.2.1:80/td?x=%5D") == {}

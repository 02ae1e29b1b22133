"""Every way of watching a unit, against small real servers."""

import asyncio
import contextlib
import json
from contextlib import aclosing
from itertools import pairwise

import pytest
from aiohttp import WSCloseCode, web

from fleet.description.limits import MAX_REPORT_BYTES
from fleet.description.vocabulary import FAULT, TARGET_FRAME
from fleet.link.arrivals import Arrival
from fleet.link.refusals import LockedError
from fleet.link.unit_link import access_in_words
from fleet.model.errors import LinkError, PlanError, UnitError
from tests.unit.link.small_unit import (
    PASSWORD,
    SHORT,
    Anywhere,
    DigestGuard,
    SmallUnit,
    basic,
    description,
    linked,
    opened,
    served,
)

OBSERVE = {"href": "live", "op": "observeproperty"}
SSE = {**OBSERVE, "subprotocol": "sse"}
LONG_POLL = {**OBSERVE, "subprotocol": "longpoll"}
READ = {"href": "live", "op": "readproperty"}


def unit_with(form, handler, security="none", guard=None):
    unit = SmallUnit(description(security, [form]), guard)
    unit.routes = {"GET /live": handler}
    return unit


@contextlib.asynccontextmanager
async def watched(form, handler, credentials=None, **more):
    """Serve a unit that is watched in one way; gives its link and the property."""
    unit = unit_with(form, handler, **more)
    async with linked(unit, credentials) as link:
        yield link, link.need_property(TARGET_FRAME), unit


async def all_of(link, affordance, last_event_id=""):
    return [one async for some in link.observe(affordance, last_event_id) for one in some]


async def first_of(link, affordance, number):
    found = []
    async with aclosing(link.observe(affordance)) as arrivals:
        async for some in arrivals:
            found += some
            if len(found) >= number:
                return found
    return found


def streaming(*chunks, hold=False, drip_s=0.0):
    """Return a handler that streams these chunks, and then ends, or holds the stream open."""

    async def handler(request):
        response = web.StreamResponse(headers={"Content-Type": "text/event-stream"})
        await response.prepare(request)
        for chunk in chunks:
            await response.write(chunk)
            await asyncio.sleep(drip_s)
        while hold:
            await asyncio.sleep(0.02)
            await response.write(b": still here\n")
        return response

    return handler


async def test_an_event_stream_gives_events_and_says_when_to_come_again():
    handler = streaming(b"retry: 1500\nid: 4\ndata: 1\n\nda", b"ta: 2\n\ndata: cut off")
    async with watched(SSE, handler) as (link, targets, _):
        assert link.way_of(targets) == "event stream"
        assert link.retry_ms is None
        assert await all_of(link, targets) == [Arrival(b"1", "4"), Arrival(b"2", "4")]
        assert link.retry_ms == 1500


async def test_an_event_stream_goes_on_after_the_last_event():
    asked = []

    async def handler(request):
        asked.append(request.headers.get("Last-Event-ID"))
        return await streaming(b"data: 1\n\n")(request)

    async with watched(SSE, handler) as (link, targets, _):
        assert await all_of(link, targets, "17") == [Arrival(b"1", "17")]
    assert asked == ["17"]


@pytest.mark.parametrize(
    "handler",
    [
        streaming(b"data: 1\n\n", hold=True),
        streaming(b"data: 1\n\n", *[b"d"] * 200, drip_s=0.02),
    ],
)
async def test_a_stream_of_reports_that_says_nothing_whole_is_given_up(handler):
    async with watched(SSE, handler) as (link, targets, _):
        with pytest.raises(LinkError, match="didn't answer in time"):
            await all_of(link, targets)


async def test_a_stream_that_never_begins_is_given_up():
    async def handler(_request):
        await asyncio.sleep(60)

    async with watched(SSE, handler) as (link, targets, _):
        with pytest.raises(LinkError, match="didn't answer in time"):
            await all_of(link, targets)


@pytest.mark.parametrize(
    "answer",
    [
        web.Response(text="data: 1\n\n", content_type="text/plain"),
        web.Response(status=204, content_type="text/event-stream"),
    ],
)
async def test_what_is_no_event_stream_is_said(answer):
    async def handler(_request):
        return answer

    async with watched(SSE, handler) as (link, targets, _):
        with pytest.raises(UnitError, match="no event stream"):
            await all_of(link, targets)


async def test_a_stream_behind_a_password_is_opened():
    async with watched(
        SSE, streaming(b"data: 1\n\n"), Anywhere(PASSWORD), security="digest", guard=DigestGuard()
    ) as (link, targets, _):
        assert [one.data for one in await all_of(link, targets)] == [b"1"]


async def test_a_stream_that_wants_a_password_says_so():
    async with watched(SSE, streaming(), security="basic", guard=basic()) as (link, targets, _):
        with pytest.raises(LockedError, match="wants a password"):
            await all_of(link, targets)


def talking(*messages, close=WSCloseCode.OK, drop=False, hold=False):
    """Return a handler of a WebSocket that says these and then closes, breaks off or falls silent."""

    async def handler(request):
        socket = web.WebSocketResponse()
        await socket.prepare(request)
        for message in messages:
            await (socket.send_str if isinstance(message, str) else socket.send_bytes)(message)
        if drop:
            request.transport.abort()
        elif hold:
            await socket.receive()
        else:
            await socket.close(code=close)
        return socket

    return handler


@contextlib.asynccontextmanager
async def over_socket(handler, credentials=None, security="none", guard=None):
    form = {**OBSERVE, "href": "ws://127.0.0.1/live"}
    async with watched(form, handler, credentials, security=security, guard=guard) as found:
        yield found


async def test_a_web_socket_gives_each_message():
    async with over_socket(talking('{"a": 1}', b"[2]")) as (link, targets, _):
        assert link.way_of(targets) == "WebSocket"
        assert [one.data for one in await all_of(link, targets)] == [b'{"a": 1}', b"[2]"]


@pytest.mark.parametrize(
    ("handler", "family", "words"),
    [
        (talking("1", drop=True), LinkError, "broke the connection off"),
        (talking("1", hold=True), LinkError, "didn't answer in time"),
        (talking("1", close=WSCloseCode.INTERNAL_ERROR), LinkError, "broke the connection off"),
        (talking("1", "x" * (MAX_REPORT_BYTES + 1)), UnitError, "larger than 64 KiB"),
    ],
)
async def test_a_web_socket_that_ends_badly_is_said(handler, family, words):
    found = []

    async def watch(link, targets):
        async for some in link.observe(targets):
            found.extend(some)

    async with over_socket(handler) as (link, targets, _):
        with pytest.raises(family, match=words):
            await watch(link, targets)
    assert found == [Arrival(b"1")]


@pytest.mark.parametrize(
    ("security", "guard"), [("basic", basic()), ("digest", DigestGuard()), ("none", None)]
)
async def test_a_web_socket_behind_a_password_is_opened(security, guard):
    async with over_socket(talking("1"), Anywhere(PASSWORD), security, guard) as found:
        link, targets, _ = found
        assert await all_of(link, targets) == [Arrival(b"1")]


@pytest.mark.parametrize(
    ("status", "family", "words"),
    [
        (404, UnitError, "refused GET"),
        (503, LinkError, "failed inside"),
        (401, LockedError, "wants"),
    ],
)
async def test_a_refused_web_socket_is_said(status, family, words):
    async def handler(_request):
        return web.Response(status=status, headers={"WWW-Authenticate": "Basic realm=x"})

    async with over_socket(handler) as (link, targets, _):
        with pytest.raises(family, match=words):
            await all_of(link, targets)


def answering(*answers):
    """Return a handler that answers one after another, and after the last one never again."""
    left = list(answers)

    async def handler(_request):
        if not left:
            await asyncio.sleep(60)
        return left.pop(0)

    return handler


async def test_a_long_poll_gives_what_is_new_and_takes_no_news_for_no_failure():
    handler = answering(
        web.Response(text="1"),
        web.Response(status=204),
        web.Response(text="2"),
        web.Response(text="3"),
    )
    async with watched(LONG_POLL, handler) as (link, targets, _):
        assert link.way_of(targets) == "long poll"
        assert [one.data for one in await first_of(link, targets, 3)] == [b"1", b"2", b"3"]


async def test_a_long_poll_that_stays_open_is_asked_again():
    async def handler(_request):
        if len([path for path in unit.paths() if path == "/live"]) < 3:
            await asyncio.sleep(60)
        return web.Response(text="7")

    unit = unit_with(LONG_POLL, handler)
    async with linked(unit) as link:
        found = await first_of(link, link.need_property(TARGET_FRAME), 1)
    assert found == [Arrival(b"7")]
    assert unit.paths().count("/live") == 3


async def test_a_long_poll_outside_of_the_turns_lets_reading_go_on():
    asked, never = asyncio.Event(), asyncio.Event()

    async def handler(_request):
        asked.set()
        await never.wait()

    async with watched(LONG_POLL, handler) as (link, targets, _):
        waiting = asyncio.ensure_future(first_of(link, targets, 1))
        await asked.wait()
        assert (await link.read(link.thing.properties["about"])).value == {"serial": "s-7"}
        waiting.cancel()
        with pytest.raises(asyncio.CancelledError):
            await waiting


async def test_a_long_poll_of_a_unit_that_is_gone_or_refuses_is_said():
    async with watched(LONG_POLL, answering(web.Response(status=404))) as (link, targets, _):
        with pytest.raises(UnitError, match="refused GET"):
            await first_of(link, targets, 1)
    unit = unit_with(LONG_POLL, answering())
    async with opened() as links:
        async with served(unit) as origin:
            link = await links.describe(f"{origin}/td")
        with pytest.raises(LinkError, match="nothing answers"):
            await first_of(link, link.need_property(TARGET_FRAME), 1)


async def test_an_observe_form_that_answers_at_once_is_read_at_the_pace_of_polling():
    times = []

    async def handler(_request):
        times.append(asyncio.get_running_loop().time())
        return web.Response(text="1")

    async with watched(OBSERVE, handler) as (link, targets, _):
        assert link.way_of(targets) == "long poll"
        await first_of(link, targets, 3)
    assert all(after - before >= 0.019 for before, after in pairwise(times))


async def test_a_property_without_a_form_to_watch_is_read_again_and_again():
    numbers = iter(range(100))

    async def handler(_request):
        return web.Response(text=str(next(numbers)))

    async with watched(READ, handler) as (link, targets, _):
        assert link.way_of(targets) == "polled"
        assert [one.data for one in await first_of(link, targets, 3)] == [b"0", b"1", b"2"]


async def test_polling_keeps_the_pace_that_the_unit_asks_for():
    times = []

    async def handler(_request):
        times.append(asyncio.get_running_loop().time())
        return web.Response(text="1")

    async with watched({**READ, "pres:pollEvery": 100}, handler) as (link, targets, _):
        await first_of(link, targets, 3)
    assert times[2] - times[0] >= 0.199


async def test_polling_ends_with_what_reading_raises():
    async with watched(READ, answering(web.Response(text="1"), web.Response(status=500))) as found:
        link, targets, _ = found
        with pytest.raises(LinkError, match="failed inside"):
            await all_of(link, targets)


@pytest.mark.parametrize("subprotocol", ["websub", "of its own"])
async def test_a_word_that_nobody_knows_is_read_instead(subprotocol):
    form = {**OBSERVE, "subprotocol": subprotocol}
    unit = SmallUnit(description("none", [form, READ]))
    async with linked(unit) as link:
        assert link.way_of(link.need_property(TARGET_FRAME)) == "polled"


async def test_what_cannot_be_watched_is_said():
    events = {"fault": {"@type": "pres:Fault", "forms": [{"href": "x", "subprotocol": "odd"}]}}
    unit = SmallUnit({**description(), "events": events})
    async with linked(unit) as link:
        fault = link.thing.event_of(FAULT)
        assert link.way_of(fault) == ""
        with pytest.raises(PlanError, match="can't be watched"):
            link.observe(fault)


class FakeBroker:
    """Stands for the visit's brokers: what came is kept."""

    def __init__(self):
        self.published = []

    async def read(self, form, _subject):
        return f'{{"topic": "{form.filter}"}}'.encode()

    async def publish(self, form, body, _subject):
        self.published.append((form.topic, body))

    async def watch(self, form, _subject):
        yield [Arrival(form.filter.encode())]

    def access_in_words(self, _broker_url):
        return "password over mqtt"


BROKER = {"href": "mqtt://127.0.0.1:1883/", "op": ["readproperty", "observeproperty"]}


def behind_a_broker():
    document = description("none", [{**BROKER, "mqv:filter": "u7/targets"}])
    document["properties"]["tuning"]["forms"] = [
        {"href": BROKER["href"], "op": "writeproperty", "mqv:topic": "u7/tuning"}
    ]
    document["actions"] = {
        "blink": {
            "@type": "pres:Identify",
            "forms": [{"href": BROKER["href"], "mqv:topic": "u7/blink"}],
        }
    }
    return json.dumps(document).encode()


async def test_what_goes_by_a_broker_is_handed_to_it():
    broker = FakeBroker()
    async with opened(brokers=broker) as links:
        link = await links.describe_as(
            behind_a_broker(), "http://127.0.0.1:9/td", brokers=frozenset({"127.0.0.1:1883"})
        )
        targets = link.need_property(TARGET_FRAME)
        assert link.way_of(targets) == "MQTT"
        assert (await link.read(targets)).value == {"topic": "u7/targets"}
        assert await all_of(link, targets) == [Arrival(b"u7/targets")]
        await link.write(link.thing.properties["tuning"], {"hold": 9}, None)
        invoked = await link.invoke(link.thing.actions["blink"])
        assert access_in_words(link) == "password over mqtt"
    assert broker.published == [("u7/tuning", b'{"hold":9}'), ("u7/blink", b"")]
    assert invoked.status.state == "completed"


async def test_without_a_broker_what_goes_by_one_is_refused():
    async with opened() as links:
        link = await links.describe_as(
            behind_a_broker(), "http://127.0.0.1:9/td", brokers=frozenset({"127.0.0.1:1883"})
        )
        with pytest.raises(PlanError, match="behind a broker, and none was named"):
            await link.read(link.need_property(TARGET_FRAME))


async def test_what_is_watched_may_last_longer_than_any_plain_answer():
    """Each way goes on past every limit on plain answers, as long as something comes."""
    number = round(1.5 * SHORT.whole_s / 0.1)

    async def handler(request):
        socket = web.WebSocketResponse()
        await socket.prepare(request)
        for _ in range(number):
            await socket.send_str("1")
            await asyncio.sleep(0.1)
        await socket.close()
        return socket

    async with over_socket(handler) as (link, targets, _):
        assert len(await all_of(link, targets)) == number
    stream = streaming(*[b"data: 1\n\n"] * number, drip_s=0.1)
    async with watched(SSE, stream) as (link, targets, _):
        assert len(await all_of(link, targets)) == number

"""A unit over real sockets: reading, writing with tags, watching, restarting."""

import asyncio
import json

import aiohttp
import pytest

from fleet.simulator import names
from fleet.simulator.running import running_house
from fleet.simulator.streams import MOST_UNREAD_BYTES
from fleet.simulator.truth import Truth
from tests.unit.simulator.small_house import PLAN, STATIC, at, events, fast_clock, running, until

TUNING, AREAS = f"/values/{names.TUNING}", f"/values/{names.FLOOR_AREAS}"
ECHOES = f"/values/{names.ECHOES}"


async def put(session, url, value, tag=None):
    data = value if isinstance(value, bytes) else json.dumps(value).encode()
    headers = {} if tag is None else {"If-Match": tag}
    async with session.put(url, data=data, headers=headers) as answer:
        if answer.status >= 400:
            assert answer.content_type == "application/problem+json"
            problem = await answer.json(content_type=None)
            assert problem["status"] == answer.status
            return answer.status, problem["detail"]
        return answer.status, answer.headers["ETag"]


async def get(session, url):
    async with session.get(url) as answer:
        return await answer.json(content_type=None), answer.headers.get("ETag")


def test_a_description_is_at_both_of_its_places():
    async def check():
        async with running() as (place, session):
            known, _ = await get(session, at(place, "/.well-known/wot"))
            advertised, _ = await get(session, place.units[0].url)
            assert known == advertised
            assert known["title"].endswith("TR-1")

    asyncio.run(check())


def test_a_write_goes_through_once_for_each_tag():
    async def check():
        async with running() as (place, session):
            url = at(place, TUNING)
            value, tag = await get(session, url)
            wanted = {**value, "hold": 90}
            assert (await put(session, url, wanted))[0] == 428
            assert (await put(session, url, wanted, '"other"'))[0] == 412
            assert (await put(session, url, wanted, f"W/{tag}"))[0] == 412
            status, new_tag = await put(session, url, wanted, tag)
            assert (status, new_tag != tag) == (204, True)
            assert await get(session, url) == (wanted, new_tag)
            assert (await put(session, url, value, tag))[0] == 412
            assert (await put(session, url, value, f'"x", {new_tag}'))[0] == 204

    asyncio.run(check())


def test_a_value_that_cannot_be_is_refused_with_the_reason():
    async def check():
        async with running() as (place, session):
            url = at(place, TUNING)
            value, tag = await get(session, url)
            assert (await put(session, url, b"{", tag))[0] == 400
            assert (await put(session, url, b"[" * 40_000, tag))[0] == 400
            assert (await put(session, url, b" " * 70_000, tag))[0] == 413
            too_long = await put(session, url, {**value, "hold": 9000}, tag)
            assert too_long == (422, "hold: 9000 is greater than the maximum of 3600")
            del value["hold"]
            assert (await put(session, url, value, tag))[0] == 422
            assert (await get(session, url))[1] == tag

    asyncio.run(check())


def test_an_area_set_is_replaced_whole_and_counts_its_revision():
    async def check():
        async with running() as (place, session):
            url = at(place, AREAS)
            value, tag = await get(session, url)
            assert value["revision"] == 3
            (area,) = value["areas"]
            turned = {**area, "min": area["max"], "max": area["min"]}
            status, detail = await put(session, url, {"areas": [turned]}, tag)
            assert (status, "not below" in detail) == (422, True)
            assert (await put(session, url, {"areas": [area] * 2}, tag))[0] == 422
            assert (await put(session, url, {"areas": []}, tag))[0] == 204
            assert (await get(session, url))[0] == {"revision": 4, "areas": []}

    asyncio.run(check())


def test_what_is_not_there_or_not_to_be_written_is_a_problem_too():
    async def check():
        async with running() as (place, session):
            async with session.get(at(place, "/values/nothing")) as answer:
                assert (answer.status, answer.content_type) == (404, "application/problem+json")
            assert (await put(session, at(place, ECHOES), {}, "*"))[0] == 405

    asyncio.run(check())


def test_reports_are_numbered_one_after_another_and_carry_an_id_each():
    async def check():
        async with running() as (place, session):
            found = await events(session, at(place, ECHOES), 30)
            reports = [json.loads(event["data"]) for event in found]
            numbers = [report["number"] for report in reports]
            assert numbers == list(range(numbers[0], numbers[0] + 30))
            assert len({event["id"] for event in found}) == 30

    asyncio.run(check())


def test_a_change_of_settings_is_said_to_who_watches_them():
    async def check():
        async with running() as (place, session):
            url = at(place, TUNING)
            value, tag = await get(session, url)
            watching = asyncio.create_task(events(session, url, 1))
            await until(lambda: place.world.units[0][1].streams.listening(names.TUNING))
            await put(session, url, {**value, "hold": 90}, tag)
            (event,) = await watching
            assert json.loads(event["data"])["hold"] == 90

    asyncio.run(check())


def test_an_old_client_gets_its_stream_without_chunks():
    async def check():
        async with running() as (place, _):
            host, port = at(place, "").removeprefix("http://").split(":")
            reader, writer = await asyncio.open_connection(host, int(port))
            request = f"GET {ECHOES} HTTP/1.0\r\nAccept: text/event-stream\r\n\r\n"
            writer.write(request.encode())
            head = await reader.readuntil(b"\r\n\r\n")
            assert b"chunked" not in head
            assert await reader.readuntil(b"\n\n") == b"retry: 1000\n\n"
            assert (await reader.readuntil(b"\n\n")).startswith(b"event: echoes\nid: ")
            writer.close()
            await writer.wait_closed()

    asyncio.run(check())


def test_blinking_is_done_at_once_and_its_seconds_have_bounds():
    async def check():
        async with running() as (place, session):
            url = at(place, f"/actions/{names.IDENTIFY}")
            for body, status in [({"seconds": 5}, 204), ({"seconds": 0}, 422)]:
                async with session.post(url, json=body) as answer:
                    assert answer.status == status
            async with session.post(url) as answer:
                assert answer.status == 204

    asyncio.run(check())


def test_after_a_restart_streams_are_cut_numbers_begin_again_and_settings_stay():
    async def check():
        async with running() as (place, session):
            url, unit = at(place, TUNING), place.world.units[0][1]
            value, tag = await get(session, url)
            await put(session, url, {**value, "hold": 90}, tag)
            watching = asyncio.create_task(events(session, at(place, ECHOES), 10_000))
            await until(lambda: unit.streams.listening(names.ECHOES))
            await _restart(session, place)
            with pytest.raises(aiohttp.ClientError):
                await watching
            assert unit.down
            with pytest.raises(aiohttp.ClientError):
                await get(session, url)
            await until(lambda: not unit.down)
            assert (await get(session, url))[0]["hold"] == 90
            (event,) = await events(session, at(place, ECHOES), 1)
            assert json.loads(event["data"])["number"] < 100
            assert event["id"].startswith("2-")

    asyncio.run(check())


async def _restart(session, place):
    url = at(place, f"/actions/{names.RESTART}")
    async with session.post(url) as answer:
        assert answer.status == 204


def test_a_second_restart_on_top_of_the_first_is_refused():
    async def check():
        # At the house's own speed a tick lasts long enough to ask twice.
        house = running_house(PLAN, Truth((STATIC,)), clock=fast_clock(1.0), announce=False)
        async with house as place, aiohttp.ClientSession() as session:
            await _restart(session, place)
            async with session.post(at(place, f"/actions/{names.RESTART}")) as answer:
                assert answer.status == 409

    asyncio.run(check())


def test_a_reader_that_never_reads_is_dropped():
    async def check():
        async with running() as (place, session):
            unit = place.world.units[0][1]
            headers = {"Accept": "text/event-stream"}
            async with session.get(at(place, ECHOES), headers=headers) as response:
                response.connection.transport.pause_reading()
                noise = "x" * MOST_UNREAD_BYTES
                while not unit.streams.dropped:
                    unit.streams.send(names.ECHOES, "0", noise)
                    await asyncio.sleep(0)
                assert not unit.streams.listening(names.ECHOES)

    asyncio.run(check())

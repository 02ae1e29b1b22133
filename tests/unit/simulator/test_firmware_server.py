"""Firmware over real sockets: uploading, fetching, installing, dropping, wiping, and what goes wrong."""

import asyncio
import json
from contextlib import asynccontextmanager
from dataclasses import replace

import aiohttp
import pytest
from aiohttp import web

from fleet.simulator import intake, names, pulling
from fleet.simulator.figures import MOST_IMAGE_BYTES
from fleet.simulator.truth import FirmwareFault, Truth
from tests.unit.simulator.firmware_images import digest_of, make_image
from tests.unit.simulator.small_house import TRACKING, at, events, running, until

IMAGE = make_image(b"invented " * 40_000)
UPLOAD, RENEW = f"/actions/{names.TAKE_IMAGE}", f"/actions/{names.RENEW}"
RENEWAL, FIRMWARE = f"/values/{names.RENEWAL}", f"/values/{names.IMAGE}"
WIPE, RESTART = f"/actions/{names.WIPE}", f"/actions/{names.RESTART}"


def order(image=IMAGE, **changes) -> dict:
    said = {"digest": digest_of(image), "size": len(image), "release": "1.3.0", "sequence": 13}
    return {**said, "build": "b-13", **changes}


@asynccontextmanager
async def one_unit(fault=None, **options):
    truth = Truth((replace(TRACKING, firmware_fault=fault),))
    async with running(truth, **options) as (place, session):
        yield place, session, place.world.units[0][1]


async def upload(session, place, image=IMAGE):
    async with session.post(at(place, UPLOAD), data=image) as answer:
        return answer.status, await answer.json(content_type=None)


async def install(session, place, said):
    async with session.post(at(place, RENEW), json=said) as answer:
        return answer.status, answer.headers.get("Location"), await answer.json(content_type=None)


async def get(session, place, path):
    async with session.get(at(place, path)) as answer:
        return answer.status, await answer.json(content_type=None)


async def ended(unit) -> str:
    ends = {"completed", "failed", "rolled-back"}
    await until(lambda: unit.installer.progress.state in ends and not unit.down)
    return unit.installer.progress.state.value


async def test_an_upload_is_answered_with_what_is_kept():
    async with one_unit() as (place, session, _):
        assert await upload(session, place) == (
            200,
            {"digest": digest_of(IMAGE), "size": len(IMAGE)},
        )
        _, said = await get(session, place, RENEWAL)
        assert (said["stage"], said["bytesDone"]) == ("staged", len(IMAGE))


async def test_an_upload_in_chunks_without_a_length_is_taken_too():
    async def pieces():
        for start in range(0, len(IMAGE), 50_000):
            yield IMAGE[start : start + 50_000]

    async with one_unit() as (place, session, _):
        status, said = await upload(session, place, pieces())
        assert (status, said["digest"]) == (200, digest_of(IMAGE))


async def test_an_uploaded_image_is_installed_and_the_description_says_its_version():
    async with one_unit() as (place, session, unit):
        await upload(session, place)
        status, where, said = await install(session, place, order())
        assert (status, said["status"], said["href"]) == (201, "running", where)
        assert await get(session, place, where) == (200, {"status": "running", "href": where})
        assert await ended(unit) == "completed"
        assert (await get(session, place, where))[0] == 404
        assert (await get(session, place, FIRMWARE))[1]["digest"] == digest_of(IMAGE)
        _, described = await get(session, place, "/description")
        assert described["version"] == {"instance": "1.3.0"}


async def test_streams_break_at_the_reboot_without_a_goodbye():
    async with one_unit() as (place, session, unit):
        await upload(session, place)
        url = at(place, RENEWAL)
        watching = asyncio.create_task(events(session, url, 10_000))
        await until(lambda: unit.streams.listening(names.RENEWAL))
        await install(session, place, order())
        with pytest.raises(aiohttp.ClientError):
            await watching
        assert await ended(unit) == "completed"


async def test_a_failure_is_in_the_status_in_the_progress_and_told_as_trouble():
    async with one_unit() as (place, session, unit):
        await upload(session, place)
        watching = asyncio.create_task(events(session, at(place, f"/events/{names.TROUBLE}"), 1))
        await until(lambda: unit.streams.listening(names.TROUBLE))
        _, where, _ = await install(session, place, order(digest="0" * 64))
        assert await ended(unit) == "failed"
        _, status = await get(session, place, where)
        assert (status["status"], status["error"]["title"]) == ("failed", "digest-mismatch")
        assert (await get(session, place, RENEWAL))[1]["why"] == "digest-mismatch"
        (trouble,) = await watching
        assert json.loads(trouble["data"])["code"] == "digest-mismatch"


@pytest.mark.parametrize(
    ("said", "status", "words"),
    [
        (order(sequence=11), 409, "lower"),
        (order(url="ftp://127.0.0.1/x"), 422, "url"),
        (order(url="http://"), 422, "url"),
        (order(url="http://127.0.0.1:99999/x"), 422, "url"),
        (order(digest="short"), 422, "digest"),
        (order(size=0), 422, "size"),
        ({"digest": "0" * 64, "size": 5}, 422, "release"),
    ],
)
async def test_an_order_that_cannot_be_is_refused_before_anything_happens(said, status, words):
    async with one_unit() as (place, session, unit):
        await upload(session, place)
        answered, where, problem = await install(session, place, said)
        assert (answered, where) == (status, None)
        assert words in problem["detail"]
        assert unit.installer.progress.state == "staged"


async def test_a_lower_sequence_is_taken_where_it_is_allowed():
    image = make_image(sequence=11)
    async with one_unit() as (place, session, unit):
        await upload(session, place, image)
        assert (await install(session, place, order(image, sequence=11, backwards=True)))[0] == 201
        assert await ended(unit) == "completed"
        assert unit.installer.slots.build.sequence == 11


async def test_nothing_staged_and_no_address_is_a_conflict():
    async with one_unit() as (place, session, _):
        assert (await install(session, place, order()))[0] == 409


async def test_a_unit_takes_one_image_at_a_time():
    async with one_unit(speed=1.0) as (place, session, _):
        await upload(session, place)
        await install(session, place, order())
        assert (await install(session, place, order()))[0] == 409
        assert (await upload(session, place))[0] == 409
        async with session.post(at(place, WIPE), json={"serial_no": "TR-1"}) as answer:
            assert answer.status == 409


async def test_an_installation_is_dropped_by_deleting_its_status():
    async with one_unit(speed=1.0) as (place, session, unit):
        await upload(session, place)
        _, where, _ = await install(session, place, order())
        async with session.delete(at(place, where)) as answer:
            assert answer.status == 204
        assert (await get(session, place, where))[0] == 404
        assert unit.installer.progress.state == "staged"
        assert not unit.installer.busy


async def test_what_is_being_applied_can_be_dropped_no_more():
    async with one_unit(FirmwareFault.HANG) as (place, session, unit):
        await upload(session, place)
        _, where, _ = await install(session, place, order())
        await until(lambda: unit.installer.progress.state == "applying")
        async with session.delete(at(place, where)) as answer:
            assert answer.status == 409
        async with session.delete(at(place, f"{RENEW}/77")) as answer:
            assert answer.status == 404


@pytest.mark.parametrize("fault", [FirmwareFault.CUT_FETCHING, FirmwareFault.RESET])
async def test_an_upload_that_is_cut_leaves_nothing_and_works_the_next_time(fault):
    async with one_unit(fault) as (place, session, unit):
        with pytest.raises(aiohttp.ClientError):
            await upload(session, place)
        assert await ended(unit) == "failed"
        reason = {"power-cut-fetching": "power-loss", "reset": "fetch"}[fault]
        assert unit.installer.progress.reason == reason
        assert unit.installer.image is None
        assert unit.boots == (2 if reason == "power-loss" else 1)
        assert (await upload(session, place))[0] == 200


async def test_an_upload_whose_sender_goes_away_has_failed():
    async with one_unit() as (place, _, unit):
        host, port = at(place, "").removeprefix("http://").split(":")
        _, writer = await asyncio.open_connection(host, int(port))
        writer.write(f"POST {UPLOAD} HTTP/1.1\r\nHost: x\r\nContent-Length: 5000\r\n\r\n".encode())
        writer.write(b"x" * 100)
        await until(lambda: unit.installer.progress.octets_done == 100)
        writer.transport.abort()
        assert await ended(unit) == "failed"
        assert unit.installer.progress.reason == "fetch"


async def test_an_upload_that_stalls_is_given_up(monkeypatch):
    monkeypatch.setattr(intake, "FETCH_IDLE_S", 0.05)
    async with one_unit() as (place, session, unit):

        async def stalling():
            yield b"x" * 100
            await until(lambda: unit.installer.progress.state == "failed")

        assert (await upload(session, place, stalling()))[0] == 408
        assert unit.installer.progress.reason == "timeout"


async def test_an_empty_upload_is_none():
    async with one_unit() as (place, session, unit):
        assert (await upload(session, place, b""))[0] == 400
        assert unit.installer.progress.reason == "fetch"


async def test_an_ill_unit_has_no_room_for_any_image():
    async with one_unit(FirmwareFault.NO_SPACE) as (place, session, unit):
        status, problem = await upload(session, place)
        assert (status, "room" in problem["detail"]) == (507, True)
        assert unit.installer.progress.reason == "no-space"


async def test_an_image_beyond_all_bounds_is_refused_while_it_comes():
    async def endless():
        for _ in range(MOST_IMAGE_BYTES // 2**20 + 1):
            yield b"x" * 2**20

    async with one_unit() as (place, session, unit):
        assert (await upload(session, place, endless()))[0] == 507
        assert unit.installer.image is None


async def test_a_bad_flash_says_what_it_really_keeps_and_never_installs_it():
    async with one_unit(FirmwareFault.WRONG_DIGEST) as (place, session, unit):
        status, kept = await upload(session, place)
        assert (status, kept["size"]) == (200, len(IMAGE))
        assert kept["digest"] != digest_of(IMAGE)
        await install(session, place, order())
        assert await ended(unit) == "failed"
        assert unit.installer.progress.reason == "digest-mismatch"


async def test_a_unit_may_answer_500_and_do_it_all_the_same():
    async with one_unit(FirmwareFault.ANSWERS_500) as (place, session, unit):
        await upload(session, place)
        assert (await install(session, place, order()))[0] == 500
        assert await ended(unit) == "completed"


async def test_a_wipe_needs_the_serial_and_leaves_only_the_build():
    async with one_unit() as (place, session, unit):
        await upload(session, place)
        async with session.post(at(place, WIPE), json={"serial_no": "TR-2"}) as answer:
            assert answer.status == 422
        async with session.post(at(place, WIPE), json={"serial_no": "TR-1"}) as answer:
            assert answer.status == 204
        await until(lambda: unit.boots == 2 and not unit.down)
        assert (await get(session, place, RENEWAL))[1] == {"stage": "idle"}
        assert (await get(session, place, f"/values/{names.FLOOR_AREAS}"))[1]["areas"] == []


@asynccontextmanager
async def shelf(handler):
    """Something that serves an image at an address."""
    app = web.Application()
    app.router.add_get("/image", handler)
    runner = web.AppRunner(app, shutdown_timeout=0.1, handler_cancellation=True)
    await runner.setup()
    try:
        site = web.TCPSite(runner, "127.0.0.1", 0)
        await site.start()
        yield f"http://127.0.0.1:{runner.addresses[0][1]}/image?for=TR-1"
    finally:
        await runner.cleanup()


async def whole(request):
    assert request.query["for"] == "TR-1"
    return web.Response(body=IMAGE)


async def test_a_unit_fetches_an_image_by_itself_and_installs_it():
    async with one_unit() as (place, session, unit), shelf(whole) as url:
        status, where, _ = await install(session, place, order(url=url))
        assert status == 201
        assert (await get(session, place, where))[1]["status"] == "running"
        assert await ended(unit) == "completed"
        assert unit.installer.slots.build.image_digest == digest_of(IMAGE)


async def redirecting(_):
    raise web.HTTPFound("/image")


async def missing(_):
    raise web.HTTPNotFound


async def short(_):
    return web.Response(body=IMAGE[:-1])


async def unsized(request, octets):
    response = web.StreamResponse()
    await response.prepare(request)
    await response.write(octets)
    return response


async def too_short(request):
    return await unsized(request, IMAGE[:-1])


async def too_long(request):
    return await unsized(request, IMAGE + b"x")


async def without_a_length(request):
    return await unsized(request, IMAGE)


async def breaking(request):
    response = web.StreamResponse(headers={"Content-Length": str(len(IMAGE))})
    await response.prepare(request)
    await response.write(IMAGE[:1000])
    request.transport.abort()
    return response


@pytest.mark.parametrize("handler", [redirecting, missing, short, too_short, too_long, breaking])
async def test_a_fetch_that_does_not_bring_just_the_image_has_failed(handler):
    async with one_unit() as (place, session, unit), shelf(handler) as url:
        await install(session, place, order(url=url))
        assert await ended(unit) == "failed"
        assert unit.installer.progress.reason == "fetch"
        assert unit.installer.slots.build.version == "1.2.0"


async def test_a_fetch_without_a_length_ends_with_the_connection():
    async with one_unit() as (place, session, unit), shelf(without_a_length) as url:
        await install(session, place, order(url=url))
        assert await ended(unit) == "completed"


async def test_a_fetch_of_another_image_fails_while_it_is_verified():
    async with one_unit() as (place, session, unit), shelf(whole) as url:
        await install(session, place, order(url=url, digest="0" * 64))
        assert await ended(unit) == "failed"
        assert unit.installer.progress.reason == "digest-mismatch"


async def test_nobody_at_the_address_is_a_failed_fetch():
    async with one_unit() as (place, session, unit):
        await install(session, place, order(url="http://127.0.0.1:1/image"))
        assert await ended(unit) == "failed"
        assert unit.installer.progress.reason == "fetch"


async def silent(request):
    response = web.StreamResponse(headers={"Content-Length": str(len(IMAGE))})
    await response.prepare(request)
    await response.write(IMAGE[:1000])
    await asyncio.Event().wait()
    return response


async def mute(_):
    await asyncio.Event().wait()


@pytest.mark.parametrize("handler", [silent, mute])
async def test_a_fetch_that_stalls_is_given_up(handler, monkeypatch):
    monkeypatch.setattr(intake, "FETCH_IDLE_S", 0.05)
    monkeypatch.setattr(pulling, "FETCH_IDLE_S", 0.05)
    async with one_unit() as (place, session, unit), shelf(handler) as url:
        await install(session, place, order(url=url))
        assert await ended(unit) == "failed"
        assert unit.installer.progress.reason == "timeout"


async def begun_fetch(session, place, unit, url):
    answered = await install(session, place, order(url=url))
    await until(lambda: unit.installer.progress.octets_done == 1000)
    return answered


async def test_a_fetch_can_be_dropped_and_a_restart_ends_it():
    async with one_unit() as (place, session, unit), shelf(silent) as url:
        _, where, _ = await begun_fetch(session, place, unit, url)
        async with session.delete(at(place, where)) as answer:
            assert answer.status == 204
        await until(lambda: not unit.streams.held)
        assert (unit.installer.progress.state, unit.installer.image) == ("idle", None)
        await begun_fetch(session, place, unit, url)
        async with session.post(at(place, RESTART)) as answer:
            assert answer.status == 204
        await until(lambda: not unit.streams.held)
        assert (unit.installer.progress.state, unit.installer.image) == ("failed", None)


async def test_a_power_cut_while_it_fetches_ends_the_fetch():
    async with one_unit(FirmwareFault.CUT_FETCHING) as (place, session, unit), shelf(whole) as url:
        await install(session, place, order(url=url))
        assert await ended(unit) == "failed"
        assert (unit.installer.progress.reason, unit.boots) == ("power-loss", 2)


async def test_a_house_that_ends_while_a_unit_fetches_leaves_nothing():
    async with shelf(silent) as url:
        async with one_unit() as (place, session, unit):
            await install(session, place, order(url=url))
            await until(lambda: unit.installer.progress.octets_done == 1000)
        assert not unit.streams.held

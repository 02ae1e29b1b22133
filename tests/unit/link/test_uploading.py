"""Sending an image: piece by piece, as long as it flows; whatever the answer, it is said, not assumed."""

import asyncio
import hashlib
from dataclasses import replace

import pytest
from aiohttp import web

from fleet.description.vocabulary import STAGE_FIRMWARE
from fleet.link.refusals import LockedError
from fleet.link.uploading import PIECE_BYTES, flow_to, upload
from fleet.model.errors import LinkError, PlanError, UnitError
from tests.unit.link.small_unit import (
    PASSWORD,
    SHORT,
    Anywhere,
    DigestGuard,
    SmallUnit,
    description,
    linked,
)

OCTETS = b"\x07" * PIECE_BYTES * 5 + b"the end"
LIMITS = replace(SHORT, upload_silence_s=0.4, upload_answer_s=0.4)
TAKE = {
    "@type": "pres:StageFirmware",
    "forms": [{"href": "take", "contentType": "application/octet-stream"}],
}


def unit_that(handler, guard=None, security="none", take=TAKE):
    unit = SmallUnit(description(security, actions={"take": take}), guard)
    unit.routes["POST /take"] = handler
    return unit


async def kept(request):
    body = await request.read()
    said = {"digest": hashlib.sha256(body).hexdigest(), "size": len(body)}
    return web.json_response({**said, "length": request.headers.get("Content-Length")})


async def sent_to(unit, credentials=None, tell=lambda _: None, **options):
    async with linked(unit, credentials, limits=LIMITS) as link:
        action = link.need_action(STAGE_FIRMWARE)
        return await upload(link, action, OCTETS, flow_to(link, tell))


async def test_all_octets_get_there_with_their_length_said_before():
    told = []
    said = await sent_to(unit_that(kept), tell=told.append)
    assert said["digest"] == hashlib.sha256(OCTETS).hexdigest()
    assert (said["size"], said["length"]) == (len(OCTETS), str(len(OCTETS)))
    assert told == [*range(PIECE_BYTES, len(OCTETS), PIECE_BYTES), len(OCTETS)]


async def test_a_unit_that_challenges_first_gets_all_of_it_with_the_second_request():
    guard = DigestGuard(qop="auth")
    said = await sent_to(unit_that(kept, guard, "digest"), Anywhere(PASSWORD))
    assert said["size"] == len(OCTETS)
    assert guard.wrong == 0


async def test_without_a_secret_it_is_locked():
    with pytest.raises(LockedError):
        await sent_to(unit_that(kept, DigestGuard(), "digest"))


async def test_a_refusal_is_told_with_its_reason():
    async def full(_request):
        return web.json_response({"title": "No room"}, status=413)

    with pytest.raises(UnitError, match="No room"):
        await sent_to(unit_that(full))


async def test_a_failure_inside_may_have_kept_it_all_the_same():
    async def fails(request):
        await request.read()
        return web.Response(status=500)

    with pytest.raises(LinkError, match="may or may not have been done"):
        await sent_to(unit_that(fails))


async def test_a_broken_connection_says_nothing_of_what_was_kept():
    async def breaks(request):
        request.transport.abort()
        return web.Response()

    with pytest.raises(LinkError, match="broke the connection off"):
        await sent_to(unit_that(breaks))


async def test_a_unit_that_never_answers_is_given_up():
    async def hangs(request):
        await request.read()
        await asyncio.Event().wait()

    with pytest.raises(LinkError, match="in time"):
        await sent_to(unit_that(hangs))


async def test_signs_of_life_from_the_unit_keep_a_slow_one():
    release = asyncio.Event()

    async def slow(request):
        await release.wait()
        return await kept(request)

    async with linked(unit_that(slow), limits=LIMITS) as link:
        flow = flow_to(link, lambda _: None)
        sending = asyncio.ensure_future(
            upload(link, link.need_action(STAGE_FIRMWARE), OCTETS, flow)
        )
        for _ in range(6):  # 0.9 s in all, over twice the limit for silence
            await asyncio.sleep(0.15)
            flow.moved()
        assert not sending.done()
        release.set()
        assert (await sending)["size"] == len(OCTETS)


async def test_an_action_that_takes_no_octets_is_sent_nothing():
    unit = unit_that(kept, take={"@type": "pres:StageFirmware", "forms": [{"href": "take"}]})
    with pytest.raises(PlanError, match="takes application/json"):
        await sent_to(unit)
    assert "/take" not in unit.paths()


async def test_an_empty_answer_is_none():
    async def silent(request):
        await request.read()
        return web.Response(status=204)

    assert await sent_to(unit_that(silent)) is None

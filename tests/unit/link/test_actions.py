"""Actions that are done at once and actions that go on, against a small real server."""

import pytest
from aiohttp import web

from fleet.description.vocabulary import INSTALL_FIRMWARE
from fleet.link.actions import StatusGoneError
from fleet.link.refusals import LockedError
from fleet.model.errors import LinkError, UnitError
from tests.unit.link.small_unit import (
    PASSWORD,
    Anywhere,
    DigestGuard,
    Kept,
    SmallUnit,
    basic,
    description,
    linked,
    opened,
    served,
)

LOCATION = {"Location": "/install/1"}


def answering(*answers):
    left = list(answers)

    async def handler(_request):
        return left.pop(0) if len(left) > 1 else left[0]

    return handler


def says(code=200, more_headers=None, **document):
    return web.json_response(document, status=code, headers=more_headers)


def going_on(*statuses, location=None, **first):
    unit = SmallUnit()
    unit.routes["POST /install"] = answering(says(201, location or LOCATION, **first))
    unit.routes["GET /install/1"] = answering(*statuses or (web.Response(status=404),))
    return unit


async def invoked(link):
    return await link.invoke(link.need_action(INSTALL_FIRMWARE))


@pytest.mark.parametrize(
    ("answer", "output"),
    [
        (web.Response(status=204), None),
        (says(done=True), {"done": True}),
        (web.Response(text="done, thanks"), None),
    ],
)
async def test_an_action_that_is_done_at_once_has_nothing_more_to_ask(answer, output):
    unit = SmallUnit()
    unit.routes["POST /install"] = answering(answer)
    async with linked(unit) as link:
        held = await invoked(link)
        assert (held.status.state, held.status.output) == ("completed", output)
        assert await link.status(held) == held.status
        await link.cancel(held)
    assert len(unit.asked) == 2


@pytest.mark.parametrize("word", ["state", "status"])
async def test_an_action_that_goes_on_is_asked_for(word):
    failed = says(**{word: "failed"}, error={"title": "Bad image", "detail": "digest"})
    unit = going_on(says(**{word: "running"}, output={"ppm": 5}), failed, **{word: "pending"})
    async with linked(unit) as link:
        held = await invoked(link)
        assert held.status.state == "pending"
        first, second = await link.status(held), await link.status(held)
    assert (first.state, first.output) == ("running", {"ppm": 5})
    assert (second.state, second.error) == ("failed", "Bad image: digest")
    assert second.status_request is None


async def test_a_status_elsewhere_is_asked_for_on_the_unit_itself():
    unit = going_on(says(state="completed"), location={"Location": "http://192.0.2.1/install/1"})
    async with linked(unit) as link:
        assert (await link.status(await invoked(link))).state == "completed"
    assert unit.paths()[-1] == "/install/1"


async def test_a_status_in_the_answer_itself_is_found():
    unit = going_on(
        says(state="completed"), location={"X": "y"}, href="/install/1", state="running"
    )
    async with linked(unit) as link:
        assert (await link.status(await invoked(link))).state == "completed"


async def test_an_answer_that_says_nothing_of_the_state_is_pending():
    unit = going_on(says(state="completed"), state="whatever")
    async with linked(unit) as link:
        assert (await invoked(link)).status.state == "pending"


async def test_a_location_that_is_none_is_said():
    unit = going_on(location={"Location": "file:///etc/passwd"})
    async with linked(unit) as link:
        with pytest.raises(UnitError, match="address of its status is none"):
            await invoked(link)


@pytest.mark.parametrize("status", [404, 410])
async def test_a_status_that_is_gone_is_said_as_such(status):
    unit = going_on(web.Response(status=status))
    unit.routes["DELETE /install/1"] = answering(web.Response(status=status))
    async with linked(unit) as link:
        held = await invoked(link)
        with pytest.raises(StatusGoneError, match="may have restarted"):
            await link.status(held)
        with pytest.raises(StatusGoneError):
            await link.cancel(held)


@pytest.mark.parametrize(
    ("answer", "family", "words"),
    [
        (says(state="whatever"), UnitError, "doesn't say how the action stands"),
        (web.Response(text="<html>"), UnitError, "no JSON"),
        (web.Response(status=500), LinkError, "failed inside"),
        (web.Response(status=302, headers={"Location": "/x"}), UnitError, "refused GET"),
    ],
)
async def test_a_status_that_cannot_be_read_is_said(answer, family, words):
    async with linked(going_on(answer)) as link:
        held = await invoked(link)
        with pytest.raises(family, match=words):
            await link.status(held)


async def test_an_action_is_cancelled_or_refuses_to_be():
    unit = going_on(says(state="running"))
    unit.routes["DELETE /install/1"] = answering(
        web.Response(status=204), says(409, title="Applying")
    )
    async with linked(unit) as link:
        held = await invoked(link)
        await link.cancel(held)
        with pytest.raises(UnitError, match="Applying"):
            await link.cancel(held)
    assert [method for method, _, _ in unit.asked].count("DELETE") == 2


@pytest.mark.parametrize(("security", "guard"), [("basic", basic()), ("digest", DigestGuard())])
async def test_a_status_behind_a_password_is_asked_for(security, guard):
    unit = going_on(says(state="running"))
    unit.document, unit.guard = description(security), guard
    unit.routes["DELETE /install/1"] = answering(web.Response(status=204))
    async with linked(unit, Anywhere(PASSWORD)) as link:
        held = await invoked(link)
        assert (await link.status(held)).state == "running"
        await link.cancel(held)


async def test_a_password_that_is_gone_meanwhile_is_asked_for():
    unit, kept = going_on(says(state="running")), Kept()
    unit.document, unit.guard = description("basic"), basic()
    async with served(unit) as origin, opened(kept) as links:
        kept.known[origin] = PASSWORD
        link = await links.describe(f"{origin}/td")
        held = await invoked(link)
        kept.known.clear()
        with pytest.raises(LockedError):
            await link.status(held)

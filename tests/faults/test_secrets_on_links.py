"""What a link does with a secret: it goes to the unit, and nowhere else, whatever the unit does with it.

Real servers on loopback take the marked secret, in each way that there is, and then refuse, lock, fail,
break off, or say back all that they were sent. Looked through are the error with its whole chain, the log
at DEBUG, and the objects that are held.
"""

import asyncio
import contextlib
import copy
import json
import logging

import pytest
from aiohttp import web

from fleet.description.vocabulary import SETTINGS
from fleet.link.limits import Limits
from fleet.link.links import Links
from fleet.model.credentials import Credential
from fleet.model.errors import WalkdownError
from tests.faults.marker import SECRET, USER, error_says, leaks_in, shown_by
from tests.unit.link.test_link import DESCRIPTION

PASSWORD, TOKEN = Credential(SECRET, USER), Credential(SECRET)
LIMITS = Limits(connect_s=1.0, silence_s=0.3, whole_s=0.5, describe_s=2.0)
WAYS = {
    "basic": ({"scheme": "basic"}, PASSWORD),
    "digest": ({"scheme": "digest"}, PASSWORD),
    "bearer": ({"scheme": "bearer"}, TOKEN),
    "key in a header": ({"scheme": "apikey", "in": "header", "name": "X-Key"}, TOKEN),
    "key in the address": ({"scheme": "apikey", "in": "query", "name": "key"}, TOKEN),
}
NONCE = 'Digest realm="unit", nonce="abc", qop="auth", algorithm=SHA-256'


class OneCredential:
    """A source that knows one secret for every unit."""

    def __init__(self, credential):
        self.credential = credential

    def credential_for(self, key):
        return self.credential if key else None


def echoed(request: web.Request) -> str:
    """Say back all that was sent."""
    sent = [f"{name}: {value}" for name, value in request.headers.items()]
    return "; ".join([request.path_qs, str(request.url), *dict(request.query).values(), *sent])


def refuses(status, **headers):
    return lambda _request: web.Response(status=status, headers=headers)


def says_back(status, media_type="application/problem+json"):
    def answer(request):
        said = {"title": f"{USER}:{SECRET}", "detail": echoed(request)}
        text = json.dumps(said) if media_type.endswith("json") else SECRET + echoed(request)
        return web.Response(status=status, text=text, content_type=media_type)

    return answer


def breaks_off(request):
    request.transport.close()
    return web.Response()


async def is_silent(_request):
    await asyncio.Event().wait()


def answers_no_json(request):
    return web.Response(text=echoed(request) + SECRET, content_type="application/json")


def sends_elsewhere(request):
    return web.Response(status=307, headers={"Location": f"http://127.0.0.1:9/?{SECRET}"})


DOINGS = {
    "refuses": refuses(401, **{"WWW-Authenticate": NONCE}),
    "forbids": refuses(403),
    "is locked": refuses(429, **{"Retry-After": "60"}),
    "fails": refuses(500),
    "refuses and says it back": says_back(401),
    "forbids and says it back": says_back(403),
    "doesn't take it and says it back": says_back(422),
    "fails and says it back": says_back(500),
    "fails and says it back in plain text": says_back(500, "text/plain"),
    "breaks off": breaks_off,
    "is silent": is_silent,
    "answers no JSON": answers_no_json,
    "sends elsewhere": sends_elsewhere,
}


@contextlib.asynccontextmanager
async def linked(way, doing, credential):
    """Serve a unit that wants a secret in some way, and link to it with one."""
    taken = []

    async def settings(request):
        digest_wanted = way["scheme"] == "digest" and "Authorization" not in request.headers
        if digest_wanted:
            return web.Response(status=401, headers={"WWW-Authenticate": NONCE})
        taken.append(
            request.headers.get("Authorization", "") + str(request.headers) + request.path_qs
        )
        answer = doing(request)
        return await answer if asyncio.iscoroutine(answer) else answer

    async def describe(_request):
        td = copy.deepcopy(DESCRIPTION)
        td["securityDefinitions"] = {"way": way}
        td["security"] = "way"
        return web.json_response(td)

    app = web.Application()
    app.router.add_get("/td", describe)
    app.router.add_get("/tuning", settings)
    app.router.add_put("/tuning", settings)
    app.router.add_get("/watch", settings)
    runner = web.AppRunner(app, access_log=None, handler_cancellation=True)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0)
    await site.start()
    links = Links({}, credentials=OneCredential(credential), limits=LIMITS)
    try:
        port = site._server.sockets[0].getsockname()[1]
        yield links, await links.describe(f"http://127.0.0.1:{port}/td"), taken
    finally:
        await links.close()
        await runner.cleanup()


async def error_of(work) -> WalkdownError:
    with pytest.raises(WalkdownError) as caught:
        await work
    return caught.value


async def read(link) -> None:
    await link.read(link.need_property(SETTINGS))


async def written(link) -> None:
    await link.write(link.need_property(SETTINGS), {"hold": 40}, '"7"')


async def watched(link) -> None:
    async for _ in link.observe(link.need_property(SETTINGS)):
        pass


@pytest.mark.parametrize("doing", DOINGS.values(), ids=DOINGS.keys())
@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS.keys())
async def test_a_unit_that_got_a_secret_has_it_leak_nowhere(way, doing, caplog):
    caplog.set_level(logging.DEBUG)
    scheme, credential = way
    works = (read, written, watched)
    if doing in (answers_no_json, is_silent):  # neither refuses a write nor ends a stream
        works = (read,)
    for work in works:
        async with linked(scheme, doing, credential) as (links, link, taken):
            error = await error_of(work(link))
            assert taken  # the secret really went out
            assert not leaks_in(error_says(error))
            assert not leaks_in(shown_by(links) + shown_by(link))
    assert not leaks_in(caplog.text)


@pytest.mark.parametrize("user", ["", USER])
async def test_a_secret_that_cannot_be_sent_is_not_shown(user):
    for scheme, _ in WAYS.values():
        async with linked(scheme, refuses(200), Credential(f"{SECRET}\r\nX: y", user)) as opened:
            _, link, taken = opened
            error = await error_of(read(link))
            assert not taken
            assert not leaks_in(error_says(error))


async def test_a_secret_that_a_cookie_cannot_hold_is_not_shown():
    cookie = {"scheme": "apikey", "in": "cookie", "name": "key"}
    async with linked(cookie, refuses(200), TOKEN) as (_, link, taken):
        error = await error_of(read(link))
    assert not taken
    assert not leaks_in(error_says(error))

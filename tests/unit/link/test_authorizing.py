"""Being let into a unit, against small real servers that guard themselves."""

import traceback

import pytest
from aiohttp import web

from fleet.description.vocabulary import IDENTITY, SETTINGS
from fleet.link.refusals import LockedError
from fleet.link.unit_link import access_in_words
from fleet.model.credentials import Credential
from fleet.model.errors import LinkError, PlanError, UnitError
from tests.unit.link.small_unit import (
    PASSWORD,
    TOKEN,
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
    wants,
)

KEY = "key=" + TOKEN.secret
ID = "urn:uuid:7"


def key_in_query(request, _body):
    return None if request.query.get("key") == TOKEN.secret else web.Response(status=401)


async def serial(link):
    return (await link.read(link.need_property(IDENTITY))).value["serial"]


@pytest.mark.parametrize(
    ("security", "guard", "credential", "words"),
    [
        ("basic", basic(), PASSWORD, "password over http"),
        ("bearer", wants("Authorization", f"Bearer {TOKEN.secret}"), TOKEN, "token over http"),
        ("header", wants("X-Key", TOKEN.secret), TOKEN, "key over http"),
        ("cookie", wants("Cookie", KEY), TOKEN, "key over http"),
        ("query", key_in_query, TOKEN, "key over http"),
        ("digest", DigestGuard(), PASSWORD, "digest password over http"),
    ],
)
async def test_each_way_in_is_served(security, guard, credential, words):
    unit = SmallUnit(description(security), guard)
    async with served(unit) as origin, opened(Kept(**{origin: credential})) as links:
        link = await links.describe(f"{origin}/td")
        assert await serial(link) == "s-7"
        await link.write(link.need_property(SETTINGS), {"hold": 40}, None)
        assert access_in_words(link) == words
    assert unit.held == {"hold": 40}


@pytest.mark.parametrize("algorithm", ["SHA-256", "MD5", "SHA-256-sess", "MD5-sess"])
@pytest.mark.parametrize("qop", ["auth", "auth-int", "auth-int, auth", ""])
async def test_every_kind_of_digest_is_answered(algorithm, qop):
    if algorithm.endswith("-sess") and not qop:
        qop = "auth"  # without qop there is no nonce of ours to make a session of
    unit = SmallUnit(description("digest"), DigestGuard(algorithm=algorithm, qop=qop))
    async with linked(unit, Anywhere(PASSWORD)) as link:
        await link.write(link.need_property(SETTINGS), {"hold": 41}, None)
        assert await serial(link) == "s-7"
    assert unit.held == {"hold": 41}
    assert unit.guard.counts == (["00000001", "00000002"] if qop else [None, None])


async def test_a_digest_beside_another_challenge_is_found():
    unit = SmallUnit(description("digest"), DigestGuard(before='Basic realm="x, y=1"'))
    async with linked(unit, Anywhere(PASSWORD)) as link:
        assert await serial(link) == "s-7"


async def test_a_digest_survives_the_units_restart_without_a_wrong_guess_too_many():
    unit = SmallUnit(description("digest"), DigestGuard())
    async with linked(unit, Anywhere(PASSWORD)) as link:
        await serial(link)
        unit.guard.nonce = "n1"
        assert await serial(link) == "s-7"
        unit.guard.nonce, unit.guard.stale = "n2", True
        assert await serial(link) == "s-7"
    assert unit.guard.wrong == 2


async def test_a_wrong_digest_password_is_sent_once():
    unit = SmallUnit(description("digest"), DigestGuard())
    async with linked(unit, Anywhere(Credential("wrong", "fitter"))) as link:
        for _ in range(3):
            with pytest.raises(LockedError) as caught:
                await serial(link)
    assert caught.value.refused
    assert unit.guard.wrong == 1


async def test_a_unit_without_a_kept_secret_says_what_it_wants():
    unit = SmallUnit(description("basic"), basic())
    async with served(unit) as origin, opened() as links:
        link = await links.describe(f"{origin}/td")
        with pytest.raises(LockedError, match="wants a password, and none is kept") as caught:
            await serial(link)
    assert (caught.value.kinds, caught.value.refused) == (("basic",), False)
    assert (caught.value.key, caught.value.kept_under) == (origin, "")
    assert caught.value.keys == (ID, origin)
    assert unit.paths() == ["/td"]


@pytest.mark.parametrize("secure", [False, True])
@pytest.mark.parametrize(
    ("security", "credential", "told"),
    [
        ("basic", Credential("wrong", "fitter"), "proof"),
        ("either", Credential("wrong"), "proof"),
        ("digest", Credential("wrong", "fitter"), "id"),
        ("digest", None, "id"),
        ("basic", None, "proof"),
    ],
)
async def test_what_the_unit_could_read_is_asked_for_under_what_it_proved_and_else_under_the_id(
    tmp_path, secure, security, credential, told
):
    certificate, fingerprint = certificate_for(tmp_path) if secure else (None, "")
    guard = DigestGuard() if security == "digest" else basic()
    unit = SmallUnit(description(security), guard)
    source = Anywhere(credential) if credential else None
    async with served(unit, certificate) as origin, opened(source) as links:
        link = await links.describe(f"{origin}/td")
        for _ in range(2):  # refused by the unit, then held back here
            with pytest.raises(LockedError) as caught:
                await serial(link)
            assert caught.value.refused is (credential is not None)
            proof = f"sha-256:{fingerprint}" if secure else origin
            assert caught.value.key == (proof if told == "proof" else ID)


async def test_a_password_that_is_kept_for_a_certificate_goes_where_it_is_shown(tmp_path):
    context, fingerprint = certificate_for(tmp_path)
    kept = Kept(**{f"sha-256:{fingerprint}": PASSWORD})
    for guards_all in (False, True):  # at any address, and for the description too
        unit = SmallUnit(description("basic"), basic(), guards_all=guards_all)
        async with linked(unit, kept, context) as link:
            assert await serial(link) == "s-7"


async def test_a_password_under_the_id_is_held_back_over_https_too(tmp_path):
    unit = SmallUnit(description("basic"), basic())
    context, fingerprint = certificate_for(tmp_path)
    async with linked(unit, Kept(**{ID: PASSWORD}), context) as link:
        with pytest.raises(LockedError, match="wasn't for this address") as caught:
            await serial(link)
    assert (caught.value.key, caught.value.kept_under) == (f"sha-256:{fingerprint}", ID)
    assert unit.paths() == ["/td"]


async def test_a_way_in_that_fits_what_may_be_sent_comes_before_one_that_fits_what_is_held_back():
    document = description("both")
    document["securityDefinitions"]["both"] = {"scheme": "combo", "oneOf": ["bearer", "digest"]}
    unit = SmallUnit(document, DigestGuard())
    async with linked(unit, Kept(**{ID: PASSWORD})) as link:
        assert await serial(link) == "s-7"
    async with linked(unit, Kept(**{ID: TOKEN})) as link:
        asked = len(unit.asked)
        with pytest.raises(LockedError, match="wasn't for this address") as caught:
            await serial(link)  # a token is no password, so no digest is made of it
        assert len(unit.asked) == asked
    assert (caught.value.kinds, caught.value.kept_under) == (("bearer", "digest"), ID)


async def test_what_is_kept_for_the_address_too_is_not_told_as_held_back():
    document = description("basic")
    document["security"] = "maybe"
    document["securityDefinitions"]["maybe"] = {"scheme": "combo", "oneOf": ["none", "basic"]}
    unit = SmallUnit(document, lambda *_: web.Response(status=403))
    async with linked(unit, Anywhere(PASSWORD)) as link:
        with pytest.raises(LockedError) as caught:
            await serial(link)
    assert caught.value.kept_under == ""


async def test_a_refused_secret_is_not_tried_again_until_another_is_kept_or_a_person_says_so():
    unit = SmallUnit(description("basic"), basic())
    kept = Kept()
    async with served(unit) as origin, opened(kept) as links:
        kept.known[origin] = Credential("wrong", "fitter")
        link = await links.describe(f"{origin}/td")
        for _ in range(4):
            with pytest.raises(LockedError, match="refused") as caught:
                await serial(link)
        assert caught.value.refused
        assert unit.paths() == ["/td", "/about"]
        links.try_again(ID)
        with pytest.raises(LockedError):
            await serial(link)
        assert unit.paths() == ["/td", "/about", "/about"]
        kept.known[origin] = PASSWORD
        assert await serial(link) == "s-7"


async def test_a_unit_that_locked_itself_is_left_alone():
    unit = SmallUnit(description("basic"), basic())

    async def locked(_request):
        return web.Response(status=429, headers={"Retry-After": "300"})

    kept = Kept()
    async with served(unit) as origin, opened(kept) as links:
        kept.known[origin] = Credential("wrong", "fitter")
        link = await links.describe(f"{origin}/td")
        with pytest.raises(LockedError):
            await serial(link)
        unit.guard, unit.routes["GET /about"] = None, locked
        kept.known[origin] = Credential("wrong too", "fitter")
        with pytest.raises(LockedError, match="locked for 300 s after wrong passwords") as caught:
            await serial(link)
        assert caught.value.key == origin
        asked = len(unit.asked)
        with pytest.raises(LockedError, match="still locked"):
            await serial(link)
        assert len(unit.asked) == asked


async def test_a_description_that_is_locked_after_a_wrong_password_says_so():
    unit = SmallUnit(guard=basic(), guards_all=True)
    async with served(unit) as origin, opened(Anywhere(Credential("wrong", "x"))) as links:
        with pytest.raises(LockedError, match="refused"):
            await links.describe(f"{origin}/td")
        unit.guard = lambda *_: web.Response(status=429, headers={"Retry-After": "60"})
        with pytest.raises(LockedError, match="locked for 60 s") as caught:
            await links.describe(f"{origin}/td")
    assert caught.value.key == origin


async def test_being_asked_too_often_is_not_being_locked_out():
    unit = SmallUnit(description("basic"), basic())

    async def busy(_request):
        return web.Response(status=429)

    async with linked(unit, Anywhere(PASSWORD)) as link:
        await serial(link)
        unit.routes["GET /about"] = busy
        with pytest.raises(UnitError, match="asked too often") as caught:
            await serial(link)
    assert not isinstance(caught.value, LockedError)


async def test_what_a_secret_does_not_allow_stays_forbidden_and_the_rest_goes_on():
    unit = SmallUnit(description("basic"), basic())

    async def forbidden(_request):
        return web.Response(status=403)

    unit.routes["PUT /tuning"] = forbidden
    async with linked(unit, Anywhere(PASSWORD)) as link:
        for _ in range(2):
            with pytest.raises(LockedError):
                await link.write(link.need_property(SETTINGS), {"hold": 1}, None)
        assert await serial(link) == "s-7"
    assert unit.paths().count("/tuning") == 1


async def test_an_open_unit_that_forbids_something_is_no_locked_one():
    unit = SmallUnit(guard=lambda *_: web.Response(status=403))
    async with linked(unit, Anywhere(PASSWORD)) as link:
        with pytest.raises(UnitError, match="doesn't allow that") as caught:
            await serial(link)
    assert not isinstance(caught.value, LockedError)


@pytest.mark.parametrize("guard", [basic(), DigestGuard(), DigestGuard(before="Basic realm=x")])
async def test_a_description_behind_a_password_is_read(guard):
    unit = SmallUnit(guard=guard, guards_all=True)
    async with linked(unit, Anywhere(PASSWORD)) as link:
        assert await serial(link) == "s-7"


async def test_a_description_behind_a_password_says_so_under_its_origin():
    unit = SmallUnit(guard=basic(), guards_all=True)
    async with served(unit) as origin, opened() as links:
        with pytest.raises(LockedError) as caught:
            await links.describe(f"{origin}/td")
    assert (caught.value.key, caught.value.kinds) == (origin, ("basic",))
    assert not caught.value.refused


async def test_a_wrong_password_for_a_description_is_sent_once():
    unit = SmallUnit(guard=basic(), guards_all=True)
    async with served(unit) as origin, opened(Anywhere(Credential("wrong", "x"))) as links:
        for _ in range(3):
            with pytest.raises(LockedError) as caught:
                await links.describe(f"{origin}/td")
    assert caught.value.refused
    assert caught.value.kinds == ("basic",)
    assert len(unit.asked) == 4  # bare and with it; then bare alone, twice


async def test_a_unit_that_names_digest_is_never_given_the_password_itself():
    unit = SmallUnit(description("digest"), basic())
    async with linked(unit, Anywhere(PASSWORD)) as link:
        with pytest.raises(UnitError, match="asks for nothing that is served"):
            await serial(link)
    assert unit.paths() == ["/td", "/about"]


@pytest.mark.parametrize(("credential", "header"), [(PASSWORD, "Basic "), (TOKEN, "Bearer ")])
async def test_of_several_ways_in_the_one_that_fits_what_is_kept_is_taken(credential, header):
    seen = []
    unit = SmallUnit(
        description("either"), lambda request, _: seen.append(request.headers["Authorization"])
    )
    async with linked(unit, Anywhere(credential)) as link:
        await serial(link)
    assert seen[0].startswith(header)


@pytest.mark.parametrize("security", ["body", "steering", "nobody knows"])
async def test_ways_in_that_are_not_served_are_named(security):
    unit = SmallUnit(description(security))
    async with linked(unit, Anywhere(TOKEN)) as link:
        with pytest.raises(UnitError, match="no way in that is served here"):
            await serial(link)
    assert unit.paths() == ["/td"]


@pytest.mark.parametrize(
    ("security", "credential"),
    [
        ("basic", Credential("line\r\nbreak", "fitter")),
        ("basic", Credential("password", "fit:ter")),
        ("digest", Credential("line\nbreak", "fitter")),
        ("cookie", Credential("two; parts")),
    ],
)
async def test_a_secret_that_would_break_the_request_is_never_sent(security, credential):
    unit = SmallUnit(description(security), DigestGuard())
    async with linked(unit, Anywhere(credential)) as link:
        with pytest.raises(PlanError, match="can't be sent") as caught:
            await serial(link)
    assert credential.secret not in str(caught.value)


async def test_a_unit_that_asks_for_ever_is_given_up():
    def again(request, _body):
        challenge = f'Digest realm="r", nonce="{len(unit.asked)}", qop="auth", stale=true'
        return web.Response(status=401, headers={"WWW-Authenticate": challenge})

    unit = SmallUnit(description("digest"), again)
    async with linked(unit, Anywhere(PASSWORD)) as link:
        with pytest.raises(UnitError, match="again and again"):
            await serial(link)
    assert len(unit.asked) == 4


async def broken_answer(request):
    request.transport.write(b"HTTP/1.1 2OO nonsense\r\n\r\n")
    request.transport.close()
    return web.Response()


@pytest.mark.parametrize("security", ["query", "basic", "bearer"])
async def test_no_error_and_no_log_tells_a_secret(security, caplog):
    caplog.set_level("DEBUG")
    unit = SmallUnit(description(security))
    unit.routes = {"GET /about": broken_answer, "PUT /tuning": broken_answer}
    secret = Credential("marker-of-a-secret", "fitter" if security == "basic" else "")
    async with linked(unit, Anywhere(secret)) as link:
        with pytest.raises(LinkError, match="no sound HTTP") as reading:
            await link.read(link.need_property(IDENTITY))
        with pytest.raises(LinkError, match="may or may not") as writing:
            await link.write(link.need_property(SETTINGS), {"hold": 1}, None)
    told = [repr(vars(unit)["document"]), caplog.text]
    for caught in (reading.value, writing.value):
        told += traceback.format_exception(caught)
        told += [repr(caught), repr(vars(caught)), repr(caught.__context__)]
    assert "marker-of-a-secret" not in "".join(told)
    assert any("marker-of-a-secret" in str(asked) for asked in unit.asked) == (security == "query")

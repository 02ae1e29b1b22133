"""A unit that claims another unit's id over plain http: it gets nothing that it could read a secret from.

A raw server at an address of its own describes itself by the id under which a secret is kept, and notes
each byte that it is sent.
"""

import base64
import json
from urllib.parse import quote

import pytest

from fleet.description.vocabulary import IDENTITY
from fleet.link.refusals import LockedError
from tests.faults.raw_unit import RawUnit, answer, listening, ok
from tests.unit.link.small_unit import (
    PASSWORD,
    TOKEN,
    DigestGuard,
    Kept,
    SmallUnit,
    certificate_for,
    description,
    linked,
    opened,
)

ID = "urn:uuid:7"  # of the unit whose secret is kept, and what the other one claims
SERIAL = json.dumps({"serial": "s-7"}).encode()


def impostor(security, challenge=b""):
    """Return a unit that claims the id, and takes whatever it is sent."""

    async def behave(_reader, writer):
        sent = b"authorization:" in unit.heads[-1].lower()
        wants = answer(b"401 Unauthorized", b"", b"WWW-Authenticate: " + challenge)
        writer.write(wants if challenge and not sent else ok(SERIAL))

    unit = RawUnit(behave, document=json.dumps(description(security)).encode())
    return unit


def readable_in(unit, credential):
    """Say whether the secret of a credential can be read from what a unit was sent."""
    came = b"\n".join(unit.heads)
    pair = f"{credential.user}:{credential.secret}".encode()
    plain = (credential.secret.encode(), quote(credential.secret, safe="").encode())
    return any(shape in came for shape in (*plain, base64.b64encode(pair)))


async def read_serial(links, unit):
    link = await links.describe(unit.url)
    return (await link.read(link.need_property(IDENTITY))).value["serial"]


@pytest.mark.parametrize(
    ("security", "challenge", "credential"),
    [
        ("basic", b"", PASSWORD),
        ("bearer", b"", TOKEN),
        ("header", b"", TOKEN),
        ("query", b"", TOKEN),
        ("cookie", b"", TOKEN),
        ("none", b'Basic realm="unit 7"', PASSWORD),
        ("none", b"Bearer", TOKEN),
        ("basic", b'Basic realm="unit 7"', PASSWORD),
    ],
)
async def test_a_unit_that_claims_an_id_gets_no_secret_that_it_could_read(
    security, challenge, credential
):
    unit = impostor(security, challenge)
    async with listening(unit), opened(Kept(**{ID: credential})) as links:
        for _ in range(2):
            with pytest.raises(LockedError, match="wasn't for this address") as caught:
                await read_serial(links, unit)
    assert unit.heads  # it was spoken to
    assert not readable_in(unit, credential)
    origin = f"http://127.0.0.1:{unit.port}"
    assert (caught.value.key, caught.value.kept_under) == (origin, ID)
    assert not caught.value.refused


@pytest.mark.parametrize(
    ("security", "credential"), [("basic", PASSWORD), ("query", TOKEN), ("bearer", TOKEN)]
)
async def test_what_is_kept_for_its_own_address_it_gets(security, credential):
    unit = impostor(security)
    async with listening(unit):
        kept = Kept(**{f"http://127.0.0.1:{unit.port}": credential})
        async with opened(kept) as links:
            assert await read_serial(links, unit) == "s-7"
    assert readable_in(unit, credential)


@pytest.mark.parametrize("secure", [False, True])
async def test_an_id_that_is_another_units_address_gets_what_is_kept_there_by_no_way_in(
    tmp_path, secure
):
    address = "http://192.0.2.7:80"  # of the unit that the password is kept for
    for way in ("basic", "digest"):
        unit = SmallUnit(description(way, id=address), DigestGuard())
        certificate = certificate_for(tmp_path)[0] if secure else None
        async with linked(unit, Kept(**{address: PASSWORD}), certificate) as link:
            with pytest.raises(LockedError, match="none is kept") as caught:
                await link.read(link.need_property(IDENTITY))
        assert unit.paths() in (["/td"], ["/td", "/about"])
        assert caught.value.kept_under == ""


async def test_a_digest_is_answered_with_what_is_kept_under_the_id():
    unit = SmallUnit(description("digest"), DigestGuard())
    async with linked(unit, Kept(**{ID: PASSWORD})) as link:
        assert (await link.read(link.need_property(IDENTITY))).value["serial"] == "s-7"


async def test_a_unit_that_takes_either_is_only_ever_sent_a_digest_of_what_is_kept_under_the_id():
    document = description()
    document["securityDefinitions"]["both"] = {"scheme": "combo", "oneOf": ["basic", "digest"]}
    document["security"] = "both"
    unit = SmallUnit(document, DigestGuard(before='Basic realm="unit 7"'))
    seen = []
    guard, unit.guard = (
        unit.guard,
        lambda request, body: (
            seen.append(request.headers.get("Authorization", "")) or guard(request, body)
        ),
    )
    async with linked(unit, Kept(**{ID: PASSWORD})) as link:
        assert (await link.read(link.need_property(IDENTITY))).value["serial"] == "s-7"
    assert [one.split(" ", 1)[0] for one in seen] == ["", "Digest"]


@pytest.mark.parametrize(("security", "credential"), [("basic", PASSWORD), ("bearer", TOKEN)])
async def test_a_certificate_that_nobody_knows_opens_nothing_that_is_kept_under_the_claimed_id(
    tmp_path, security, credential
):
    seen = []
    unit = SmallUnit(
        description(security, id=ID), lambda request, _: seen.append(dict(request.headers))
    )
    certificate = certificate_for(tmp_path)[0]
    async with linked(unit, Kept(**{ID: credential}), certificate) as link:
        for _ in range(2):
            with pytest.raises(LockedError, match="wasn't for this address"):
                await link.read(link.need_property(IDENTITY))
    assert unit.paths() == ["/td"]
    assert seen == []

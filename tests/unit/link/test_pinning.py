"""Certificates trusted on first use, over real TLS on loopback."""

import datetime as dt
import json

import pytest

from fleet.description.vocabulary import IDENTITY
from fleet.link.pinning import CertificateChangedError, Pinning, VisitPins, in_groups
from fleet.link.unit_link import access_in_words
from fleet.model.errors import LinkError, PlanError
from tests.unit.link.small_unit import (
    CLOCK,
    PASSWORD,
    SHORT,
    Anywhere,
    DigestGuard,
    SmallUnit,
    basic,
    certificate_for,
    description,
    opened,
    served,
)

KEY = "urn:uuid:7"


async def read(links, origin):
    link = await links.describe(f"{origin}/td")
    return link, (await link.read(link.need_property(IDENTITY))).value


async def test_a_certificate_is_trusted_on_first_use_and_kept_under_id_and_origin(tmp_path):
    context, fingerprint = certificate_for(tmp_path)
    pins = VisitPins()
    async with served(SmallUnit(), context) as origin, opened(pins=pins) as links:
        _, value = await read(links, origin)
    assert value == {"serial": "s-7"}
    assert [pins.pin_for(key).sha256 for key in (KEY, origin)] == [fingerprint] * 2
    assert pins.pin_for(KEY).first_seen_at.tzinfo is dt.UTC


@pytest.mark.parametrize(
    ("security", "guard", "words"),
    [
        ("basic", basic(), "password over https"),
        ("digest", DigestGuard(), "digest password over https"),
    ],
)
async def test_a_password_goes_over_https(tmp_path, security, guard, words):
    context, _ = certificate_for(tmp_path)
    unit = SmallUnit(description(security), guard)
    async with served(unit, context) as origin, opened(Anywhere(PASSWORD)) as links:
        link, value = await read(links, origin)
    assert value == {"serial": "s-7"}
    assert access_in_words(link) == words


async def test_another_certificate_is_shouted_about_and_gets_no_request(tmp_path):
    context, before = certificate_for(tmp_path, "before")
    other, after = certificate_for(tmp_path, "after")
    unit, impostor = SmallUnit(), SmallUnit(description("basic"), basic())
    async with opened(Anywhere(PASSWORD)) as links:
        async with served(unit, context) as origin:
            link, _ = await read(links, origin)
        port = int(origin.rpartition(":")[2])
        async with served(impostor, other, port):
            with pytest.raises(CertificateChangedError) as caught:
                await link.read(link.need_property(IDENTITY))
    error = caught.value
    assert (error.key, error.known, error.shown) == (KEY, before, after)
    assert "THIS MAY BE ANOTHER UNIT" in str(error)
    assert in_groups(before) in str(error)
    assert in_groups(after) in str(error)
    assert "since 2026-11-25T" in str(error)
    assert error.subject == "Small unit"
    assert impostor.asked == []


async def test_no_password_goes_to_a_unit_whose_certificate_changed(tmp_path):
    context, before = certificate_for(tmp_path, "before")
    other, _ = certificate_for(tmp_path, "after")
    seen, pins = [], VisitPins()
    impostor = SmallUnit(guard=lambda request, _: seen.append(dict(request.headers)))
    locked = SmallUnit(guard=basic(), guards_all=True)
    async with served(SmallUnit(), context) as origin, opened(pins=pins) as links:
        await links.describe(f"{origin}/td")
    port = int(origin.rpartition(":")[2])
    for unit in (impostor, locked):
        unit.guards_all = True
        async with served(unit, other, port), opened(Anywhere(PASSWORD), pins=pins) as links:
            with pytest.raises(CertificateChangedError):
                await links.describe(f"{origin}/td")
        assert unit.paths() == ["/td"]
    assert pins.pin_for(KEY).sha256 == before
    assert all("Authorization" not in headers for headers in seen)


async def test_a_person_accepts_the_certificate_that_was_shown_and_no_other(tmp_path):
    context, before = certificate_for(tmp_path, "before")
    other, after = certificate_for(tmp_path, "after")
    third, _ = certificate_for(tmp_path, "third")
    async with opened() as links:
        async with served(SmallUnit(), context) as origin:
            await read(links, origin)
        port = int(origin.rpartition(":")[2])
        async with served(SmallUnit(), other, port):
            with pytest.raises(CertificateChangedError):
                await read(links, origin)
            links.accept_certificate(origin)
            await read(links, origin)
        async with served(SmallUnit(), third, port):
            with pytest.raises(CertificateChangedError) as caught:
                await read(links, origin)
    assert (before != after, caught.value.known) == (True, after)


async def test_nothing_can_be_accepted_that_was_not_shown():
    async with opened() as links:
        with pytest.raises(PlanError, match="no changed certificate"):
            links.accept_certificate(KEY)


async def test_a_unit_that_moved_is_known_by_its_id(tmp_path):
    context, fingerprint = certificate_for(tmp_path)
    pins = VisitPins()
    async with opened(pins=pins) as links:
        for _ in range(2):  # another port each time
            async with served(SmallUnit(), context) as origin:
                await read(links, origin)
            assert pins.pin_for(origin).sha256 == fingerprint


async def test_a_unit_that_takes_a_known_ones_address_with_its_own_certificate_is_let_in(tmp_path):
    first, _ = certificate_for(tmp_path, "first")
    second, fingerprint = certificate_for(tmp_path, "second")
    neighbour = SmallUnit({**description(), "id": "urn:uuid:8"})
    pins = VisitPins()
    async with opened(pins=pins) as links:
        async with served(neighbour, second) as elsewhere:
            await read(links, elsewhere)
        async with served(SmallUnit(), first) as origin:
            await read(links, origin)
        async with served(neighbour, second, int(origin.rpartition(":")[2])):
            await read(links, origin)
    assert pins.pin_for(origin).sha256 == fingerprint


async def test_a_unit_that_spoke_https_and_no_longer_does_is_refused_until_accepted(tmp_path):
    context, _ = certificate_for(tmp_path)
    async with opened() as links:
        async with served(SmallUnit(), context) as origin:
            await read(links, origin)
        async with served(SmallUnit()) as plain:
            with pytest.raises(CertificateChangedError, match="SHOWS NONE ANY MORE"):
                await read(links, plain)
            links.accept_certificate(KEY)
            assert (await read(links, plain))[1] == {"serial": "s-7"}


async def test_a_unit_with_a_made_description_shows_its_certificate_before_a_secret_goes_out(
    tmp_path,
):
    context, fingerprint = certificate_for(tmp_path)
    unit, pins = SmallUnit(description("basic"), basic()), VisitPins()
    raw = json.dumps(description("basic")).encode()
    async with served(unit, context) as origin, opened(Anywhere(PASSWORD), pins=pins) as links:
        link = await links.describe_as(raw, f"{origin}/td")
        assert (await link.read(link.need_property(IDENTITY))).value == {"serial": "s-7"}
    assert pins.pin_for(KEY).sha256 == fingerprint


async def test_what_a_broker_was_shown_is_accepted_in_the_same_place():
    pinning = Pinning(VisitPins(), CLOCK)
    pin = pinning.hold(("mqtts://127.0.0.1:8883",), "ab" * 32, "broker")
    assert pinning.changed(pin, "cd" * 32, "broker").shown == "cd" * 32
    async with opened(pins=pinning) as links:
        links.accept_certificate(pin.key)
    assert pinning.hold((pin.key,), "cd" * 32, "broker").sha256 == "cd" * 32


@pytest.mark.parametrize(("clock", "dated"), [(None, False), (CLOCK, True)])
def test_without_a_clock_no_date_is_made_up(clock, dated):
    pinning = Pinning(VisitPins(), clock)
    pin = pinning.hold(("k",), "ab" * 32, "unit")
    assert ("since" in str(pinning.changed(pin, "cd" * 32, "unit"))) == dated


async def test_what_speaks_no_tls_is_said(tmp_path):
    async with served(SmallUnit()) as origin, opened(limits=SHORT) as links:
        with pytest.raises(LinkError, match="speaks no https"):
            await links.describe(origin.replace("http:", "https:") + "/td")

"""One image for one unit: who may fetch it, from where, which part, and for how long."""

import base64
import hashlib
from types import SimpleNamespace

import aiohttp
import pytest

from fleet.link import image_server
from fleet.link.image_server import image_offered, is_same_host, wanted_range
from fleet.model.errors import LinkError

OCTETS = bytes(range(256)) * 400
SHA256 = hashlib.sha256(OCTETS).hexdigest()


def link_at(address):
    """As much of a link as the server looks at: the address that its unit answers at."""
    route = SimpleNamespace(address=address)
    return SimpleNamespace(asker=SimpleNamespace(route=route), subject="Unit 7")


async def fetched(url, method="GET", **headers):
    async with (
        aiohttp.ClientSession() as session,
        session.request(method, url, headers=headers) as answer,
    ):
        return answer.status, dict(answer.headers), await answer.read()


async def test_the_unit_gets_all_of_it_with_its_digest():
    told = []
    async with image_offered(link_at("127.0.0.1"), OCTETS, SHA256, told.append) as offered:
        status, headers, body = await fetched(offered.url)
        assert (status, body) == (200, OCTETS)
        assert offered.fetched.is_set()
    digest = base64.b64encode(bytes.fromhex(SHA256)).decode()
    assert headers["Repr-Digest"] == f"sha-256=:{digest}:"
    assert headers["Content-Length"] == str(len(OCTETS))
    assert "Content-Encoding" not in headers
    assert (told[-1], told) == (len(OCTETS), sorted(told))


async def test_a_broken_off_fetch_goes_on_by_a_range():
    async with image_offered(link_at("127.0.0.1"), OCTETS, SHA256, lambda _: None) as offered:
        status, headers, body = await fetched(offered.url, Range="bytes=1000-1999")
        assert (status, body) == (206, OCTETS[1000:2000])
        assert headers["Content-Range"] == f"bytes 1000-1999/{len(OCTETS)}"
        assert not offered.fetched.is_set()
        assert (await fetched(offered.url, Range=f"bytes={len(OCTETS)}-"))[0] == 416
        assert (await fetched(offered.url, Range="bytes=100000-"))[2] == OCTETS[100000:]
        assert offered.fetched.is_set()


async def test_another_path_or_another_method_gets_nothing():
    async with image_offered(link_at("127.0.0.1"), OCTETS, SHA256, lambda _: None) as offered:
        assert (await fetched(offered.url[:-1]))[0] == 404
        assert (await fetched(offered.url + "/.."))[0] == 404
        assert (await fetched(offered.url.rsplit("/", 1)[0] + "/"))[0] == 404
        for method in ("POST", "PUT", "HEAD", "DELETE", "OPTIONS"):
            assert (await fetched(offered.url, method))[0] == 405


async def test_another_address_gets_nothing_even_by_the_right_path(monkeypatch):
    monkeypatch.setattr(image_server, "_own_address", lambda *_: "127.0.0.1")
    async with image_offered(link_at("192.0.2.7"), OCTETS, SHA256, lambda _: None) as offered:
        status, _, body = await fetched(offered.url)
        assert (status, body) == (404, b"")


async def test_when_it_is_over_nobody_is_there():
    async with image_offered(link_at("127.0.0.1"), OCTETS, SHA256, lambda _: None) as offered:
        url = offered.url
    with pytest.raises(aiohttp.ClientConnectorError):
        await fetched(url)


async def test_each_offer_has_a_path_of_its_own():
    link = link_at("127.0.0.1")
    async with (
        image_offered(link, OCTETS, SHA256, lambda _: None) as one,
        image_offered(link, OCTETS, SHA256, lambda _: None) as other,
    ):
        paths = {offered.url.rsplit("/", 1)[1] for offered in (one, other)}
    assert len(paths) == 2
    assert min(map(len, paths)) >= 43  # 256 bits in base64


async def test_an_address_that_leads_nowhere_is_said(monkeypatch):
    monkeypatch.setattr(image_server, "_own_address", lambda *_: "192.0.2.1")
    with pytest.raises(LinkError, match="can't be served"):
        async with image_offered(link_at("192.0.2.7"), OCTETS, SHA256, lambda _: None):
            pass


@pytest.mark.parametrize(
    ("header", "wanted"),
    [
        ("", (0, 100)),
        ("bytes=0-", (0, 100)),
        ("bytes=10-19", (10, 20)),
        ("bytes=90-500", (90, 100)),
        ("bytes=-30", (70, 100)),
        ("bytes=-500", (0, 100)),
        ("bytes=20-10", (0, 100)),
        ("bytes=0-1,5-6", (0, 100)),
        ("lines=1-2", (0, 100)),
        ("bytes=-", (0, 100)),
        ("bytes=100-", None),
        ("bytes=-0", None),
    ],
)
def test_a_range_is_what_rfc_9110_makes_of_it(header, wanted):
    assert wanted_range(header, 100) == wanted


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("192.0.2.7", "192.0.2.7", True),
        ("192.0.2.8", "192.0.2.7", False),
        ("127.0.0.1", "127.64.3.9", True),
        ("::ffff:192.0.2.7", "192.0.2.7", True),
        ("fe80::1%eth0", "fe80::1%2", True),
        ("", "192.0.2.7", False),
        ("127.0.0.1", "192.0.2.7", False),
    ],
)
def test_one_machine_is_known_by_its_address(one, other, same):
    assert is_same_host(one, other) is same

"""A general web server that nobody here wrote: passwords, https, and what it would pack."""

import pytest

from fleet.description.vocabulary import IDENTITY, SETTINGS
from fleet.link.limits import Limits
from fleet.link.refusals import LockedError
from fleet.link.unit_link import access_in_words
from fleet.model.credentials import Credential
from fleet.model.errors import UnitError
from tests.peers.web_server import running
from tests.unit.link.small_unit import PASSWORD, Anywhere, certificate_for, opened

WRONG = Credential("wrong", PASSWORD.user)


async def serial(server, credentials=None):
    async with opened(credentials) as links:
        link = await links.describe(server.url)
        read = await link.read(link.need_property(IDENTITY))
        return read.value["serial"], access_in_words(link), read.etag


@pytest.mark.parametrize(
    ("security", "algorithm", "words"),
    [
        ("none", "", "open"),
        ("basic", "", "password over http"),
        ("digest", "SHA-256", "digest password over http"),
        ("digest", "MD5", "digest password over http"),
    ],
)
async def test_a_unit_is_read(tmp_path, security, algorithm, words):
    with running(tmp_path, security, algorithm) as server:
        said, access, etag = await serial(server, Anywhere(PASSWORD))
    assert (said, access) == ("s-7", words)
    assert etag


@pytest.mark.parametrize("security", ["basic", "digest"])
async def test_a_description_behind_a_password_is_read(tmp_path, security):
    with running(tmp_path, security, guarded="") as server:
        assert (await serial(server, Anywhere(PASSWORD)))[0] == "s-7"


@pytest.mark.parametrize(("security", "most_refused"), [("basic", 1), ("digest", 2)])
async def test_a_wrong_password_is_tried_once(tmp_path, security, most_refused):
    with running(tmp_path, security) as server:
        async with opened(Anywhere(WRONG), Limits()) as links:  # it takes seconds to refuse one
            link = await links.describe(server.url)
            for _ in range(3):
                with pytest.raises(LockedError) as caught:
                    await link.read(link.need_property(IDENTITY))
    assert caught.value.refused
    refused = [line for line in server.asked() if line.startswith("401")]
    assert len(refused) == most_refused  # a digest begins with a challenge to a bare request


@pytest.mark.parametrize("security", ["basic", "digest"])
async def test_a_password_goes_over_https(tmp_path, security):
    _, fingerprint = certificate_for(tmp_path)
    (tmp_path / "server").mkdir()
    certificate = tmp_path / "unit.pem"
    with running(tmp_path / "server", security, certificate=certificate) as server:
        async with opened(Anywhere(PASSWORD)) as links:
            link = await links.describe(server.url)
            read = await link.read(link.need_property(IDENTITY))
    assert read.value["serial"] == "s-7"
    assert link.asker.route.pin.sha256 == fingerprint


async def test_what_it_does_not_serve_is_said(tmp_path):
    with running(tmp_path) as server:
        async with opened() as links:
            link = await links.describe(server.url)
            with pytest.raises(UnitError, match="404"):
                await link.read(link.need_property(SETTINGS))
            with pytest.raises(UnitError, match="refused PUT"):
                await link.write(link.need_property(SETTINGS), {"hold": 1}, None)

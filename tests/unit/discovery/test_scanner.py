import asyncio
import contextlib
from datetime import UTC, datetime

import pytest
from zeroconf import IPVersion, ServiceInfo
from zeroconf.asyncio import AsyncZeroconf

from fleet.discovery.scanner import SERVICE_TYPE, Scanner
from fleet.model.clock import HouseClock
from fleet.model.errors import LinkError
from fleet.model.meeting import Interface

LOOPBACK = Interface("lo", "127.0.0.1", "127.0.0.0/8", loopback=True)
CLOCK = HouseClock(datetime(2026, 11, 25, tzinfo=UTC), 0.0, lambda: 5.0)


def advert(name, address="127.0.0.1", port=8080, properties=None):
    return ServiceInfo(
        SERVICE_TYPE,
        f"{name}.{SERVICE_TYPE}",
        parsed_addresses=[address],
        port=port,
        server=f"{name}.local.",
        properties={"td": "/description"} if properties is None else properties,
    )


@contextlib.asynccontextmanager
async def advertised(*adverts):
    """Advertise on loopback for as long as the context lasts."""
    zeroconf = AsyncZeroconf(interfaces=["127.0.0.1"], ip_version=IPVersion.V4Only)
    try:
        registering = [
            await zeroconf.async_register_service(info, cooperating_responders=True)
            for info in adverts
        ]
        await asyncio.gather(*registering)
        yield zeroconf
    finally:
        await zeroconf.async_unregister_all_services()
        await zeroconf.async_close()


async def heard(count, *, within="", adverts=()):
    """Return the sightings once `count` names that start with "scan-" were heard."""
    found, enough = {}, asyncio.Event()

    def take(sighting):
        if sighting.name.startswith("scan-"):
            found[sighting.name] = sighting
        if len(found) >= count:
            enough.set()

    async with (
        advertised(*adverts),
        Scanner(CLOCK, take, interface="127.0.0.1", within=within),
        asyncio.timeout(15),
    ):
        await enough.wait()
    return found


async def test_units_are_heard_with_address_host_and_time():
    found = await heard(1, adverts=[advert("scan-one", port=4711)])
    sighting = found["scan-one"]
    assert sighting.url == "http://127.0.0.1:4711/description"
    assert sighting.host == "scan-one.local"
    assert sighting.heard_at == CLOCK.now()


async def test_a_name_with_dots_is_kept_whole():
    assert "scan-a.b" in await heard(1, adverts=[advert("scan-a.b")])


async def test_without_a_path_the_well_known_one_is_tried():
    found = await heard(1, adverts=[advert("scan-bare", properties={})])
    assert found["scan-bare"].url.endswith("/.well-known/wot")


async def test_another_scheme_or_a_relative_path_is_passed_over():
    odd = [
        advert("scan-ftp", properties={"scheme": "ftp"}),
        advert("scan-rel", properties={"td": "description"}),
        advert("scan-good"),
    ]
    assert set(await heard(1, adverts=odd)) == {"scan-good"}


async def test_only_addresses_of_the_wanted_network_count():
    adverts = [advert("scan-here", "127.9.8.7"), advert("scan-there", "127.0.0.1")]
    found = await heard(1, within="127.9.8.7/32", adverts=adverts)
    assert set(found) == {"scan-here"}


async def test_many_adverts_at_once_are_all_heard():
    adverts = [advert(f"scan-{number}", port=5000 + number) for number in range(40)]
    found = await heard(40, adverts=adverts)
    assert len({sighting.url for sighting in found.values()}) == 40


async def test_an_interface_that_is_not_there_is_named():
    with pytest.raises(LinkError, match=r"203\.0\.113\.1"):
        async with Scanner(CLOCK, lambda _: None, interface="203.0.113.1"):
            pass


async def test_closing_twice_is_harmless():
    scanner = Scanner(CLOCK, lambda _: None, interface="127.0.0.1")
    await scanner.open()
    await scanner.open()
    await scanner.close()
    await scanner.close()


async def test_another_service_type_is_heard_with_its_text_record_and_asked_at_its_root():
    found, enough = {}, asyncio.Event()

    def take(sighting):
        found[sighting.name] = sighting
        enough.set()

    kind = "_walkdown-scan._tcp.local."
    other = ServiceInfo(
        kind,
        f"scan-other.{kind}",
        parsed_addresses=["127.0.0.1"],
        port=81,
        server="scan-other.local.",
        properties={"Model": "<b>T\u202e", "bare": None},
    )
    types = ("_wot._tcp", "_walkdown-scan._tcp")
    async with (
        advertised(other),
        Scanner(CLOCK, take, interface="127.0.0.1", service_types=types),
        asyncio.timeout(15),
    ):
        while "scan-other" not in found:
            enough.clear()
            await enough.wait()
    sighting = found["scan-other"]
    assert sighting.url == "http://127.0.0.1:81/"
    assert sighting.service_type == "_walkdown-scan._tcp"
    assert sighting.txt == {"model": "‹b›T", "bare": ""}


class Listened:
    """A scanner on loopback whose sightings and goodbyes are waited for."""

    def __init__(self, **options):
        self.told = asyncio.Queue()
        self.scanner = Scanner(
            CLOCK,
            lambda sighting: self.told.put_nowait(("sighting", sighting.name, sighting.url)),
            interface="127.0.0.1",
            within="127.7.7.0/24",
            on_goodbye=lambda name: self.told.put_nowait(("goodbye", name)),
            **options,
        )

    async def next(self):
        async with asyncio.timeout(15):
            return await self.told.get()


async def test_a_changed_address_is_told_once_and_a_goodbye_as_a_hint():
    listened = Listened()
    async with advertised(advert("scan-m", "127.7.7.1")) as zeroconf, listened.scanner:
        assert await listened.next() == ("sighting", "scan-m", "http://127.7.7.1:8080/description")
        await (await zeroconf.async_update_service(advert("scan-m", "127.7.7.2")))
        assert await listened.next() == ("sighting", "scan-m", "http://127.7.7.2:8080/description")
        await (await zeroconf.async_unregister_service(advert("scan-m", "127.7.7.2")))
        assert await listened.next() == ("goodbye", "scan-m")
        assert listened.scanner.goodbyes == {"scan-m"}
        assert len(listened.scanner.sightings) == 1
    assert listened.told.empty()


async def test_two_names_at_one_address_are_both_told():
    adverts = [advert("scan-p", "127.7.7.3"), advert("scan-q", "127.7.7.3")]
    listened = Listened()
    async with advertised(*adverts), listened.scanner:
        told = {await listened.next(), await listened.next()}
    assert {name for _, name, _ in told} == {"scan-p", "scan-q"}


class Looks:
    """What the scanner sees of interfaces, look by look."""

    def __init__(self, *there):
        self.there = there
        self._looked = asyncio.Event()

    def __call__(self):
        self._looked.set()
        return self.there

    async def change(self, *there):
        """Change what is there, and wait until the scanner has seen it and acted on it."""
        self.there = there
        async with asyncio.timeout(15):
            for _ in range(2):  # the second look begins when all is done about the first
                self._looked.clear()
                await self._looked.wait()


async def test_an_interface_that_goes_is_listened_on_anew_when_it_comes_back():
    looks = Looks(LOOPBACK)
    listened = Listened(look=looks, look_every_s=0.01)
    async with listened.scanner:
        assert listened.scanner.present == (LOOPBACK,)
        await looks.change()
        assert listened.scanner.present == ()
        async with advertised(advert("scan-back", "127.7.7.4")):
            await looks.change(LOOPBACK)
            assert (await listened.next())[1] == "scan-back"


async def test_a_look_that_fails_changes_nothing():
    there = [LOOPBACK]

    def look():
        if there:
            return (there.pop(),)
        raise OSError("in the middle of a change")

    listened = Listened(look=look, look_every_s=0.01)
    async with advertised(advert("scan-l", "127.7.7.5")), listened.scanner:
        assert (await listened.next())[1] == "scan-l"
        assert listened.scanner.present == (LOOPBACK,)


async def test_without_any_interface_the_scanner_waits_for_one():
    looks = Looks()
    scanner = Scanner(CLOCK, lambda _: None, look=looks, look_every_s=0.01)
    async with scanner:
        assert scanner.present == ()
        await looks.change(LOOPBACK)
        assert scanner.present == (LOOPBACK,)


async def test_an_error_of_the_system_at_the_first_look_is_told():
    def look():
        raise OSError("no such thing")

    with pytest.raises(LinkError, match="no such thing"):
        await Scanner(CLOCK, lambda _: None, interface="eth0", look=look).open()

import asyncio
import contextlib
from datetime import UTC, datetime

import pytest
from zeroconf import IPVersion, ServiceInfo
from zeroconf.asyncio import AsyncZeroconf

from fleet.discovery.scanner import SERVICE_TYPE, Scanner
from fleet.model.clock import HouseClock
from fleet.model.errors import LinkError

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

"""Adverts as another program on the loopback interface hears them."""

import asyncio
from dataclasses import replace

from zeroconf import IPVersion, ServiceStateChange
from zeroconf.asyncio import AsyncServiceBrowser, AsyncServiceInfo, AsyncZeroconf

from fleet.simulator.adverts import SERVICE
from fleet.simulator.truth import Truth
from tests.unit.simulator.small_house import STATIC, TRACKING, running

TWINS = Truth(
    (
        replace(TRACKING, serial="Twin/1"),
        replace(STATIC, serial="Twin/1"),
        replace(STATIC, serial="Lone 1"),
    )
)
PATIENCE_S = 10


def test_every_unit_is_announced_with_its_place_and_gone_with_a_goodbye():
    async def check():
        heard: asyncio.Queue[tuple[str, ServiceStateChange]] = asyncio.Queue()
        zeroconf = AsyncZeroconf(interfaces=["127.0.0.1"], ip_version=IPVersion.V4Only)
        browser = AsyncServiceBrowser(
            zeroconf.zeroconf,
            [SERVICE],
            handlers=[lambda **said: heard.put_nowait((said["name"], said["state_change"]))],
        )
        try:
            async with asyncio.timeout(PATIENCE_S), running(TWINS, announce=True) as (place, _):
                ports = [int(unit.url.split(":")[2].split("/")[0]) for unit in place.units]
                wanted = {
                    f"unit-twin-1-{ports[0]}.{SERVICE}": ports[0],
                    f"unit-twin-1-{ports[1]}.{SERVICE}": ports[1],
                    f"unit-lone-1.{SERVICE}": ports[2],
                }
                await _all(heard, set(wanted), ServiceStateChange.Added)
                for name, port in wanted.items():
                    info = AsyncServiceInfo(SERVICE, name)
                    assert await info.async_request(zeroconf.zeroconf, 3000)
                    assert info.port == port
                    assert info.server.endswith(".local.")
                    assert info.properties == {
                        b"td": b"/description",
                        b"type": b"Thing",
                        b"scheme": b"http",
                    }
            async with asyncio.timeout(PATIENCE_S):
                await _all(heard, set(wanted), ServiceStateChange.Removed)
        finally:
            await browser.async_cancel()
            await zeroconf.async_close()

    asyncio.run(check())


async def _all(heard, names, change):
    while names:
        name, what = await heard.get()
        if what is change:
            names.discard(name)

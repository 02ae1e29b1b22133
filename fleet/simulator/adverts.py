"""Adverts of the units over mDNS (RFC 6762, RFC 6763): one `_wot._tcp` service a unit."""

import asyncio
import socket
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass

from zeroconf import IPVersion
from zeroconf.asyncio import AsyncServiceInfo, AsyncZeroconf

from fleet.simulator.names import DESCRIPTION_PATH

SERVICE = "_wot._tcp.local."


@dataclass(frozen=True, slots=True)
class Advert:
    """What one unit says on the network: its instance name, and where it is."""

    instance: str
    address: str
    port: int


@asynccontextmanager
async def announced(adverts: Sequence[Advert], address: str) -> AsyncIterator[None]:
    """Keep adverts on the interface of an address, and take them back with a goodbye."""
    zeroconf = AsyncZeroconf(interfaces=[address], ip_version=IPVersion.V4Only)
    try:
        said = [
            await zeroconf.async_register_service(_service(advert), cooperating_responders=True)
            for advert in adverts
        ]
        await asyncio.gather(*said)
        yield
    finally:
        await zeroconf.async_unregister_all_services()
        await zeroconf.async_close()


def _service(advert: Advert) -> AsyncServiceInfo:
    return AsyncServiceInfo(
        SERVICE,
        f"{advert.instance}.{SERVICE}",
        addresses=[socket.inet_aton(advert.address)],
        port=advert.port,
        properties={"td": DESCRIPTION_PATH, "type": "Thing", "scheme": "http"},
        server=f"{advert.instance}.local.",
    )

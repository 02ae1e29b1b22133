"""Who is on the network: adverts of WoT things heard by mDNS (RFC 6762) and DNS-SD (RFC 6763).

An advert is only a hint where a description may lie; whether a unit stands behind it is for the reader of
the description to say. Resolving many adverts at once overflows the socket, so the cache is read first and
a few are asked at a time.
"""

import asyncio
import ipaddress
import socket
from collections.abc import Callable
from types import TracebackType
from typing import Self

from zeroconf import IPVersion, ServiceStateChange, Zeroconf
from zeroconf.asyncio import AsyncServiceBrowser, AsyncServiceInfo, AsyncZeroconf

from fleet.discovery.text_records import read_text_record, text_of
from fleet.model.clock import Clock
from fleet.model.errors import LinkError
from fleet.model.units import Sighting

SERVICE_TYPE = "_wot._tcp.local."
WELL_KNOWN_PATH = "/.well-known/wot"
ASKED_AT_ONCE = 8
ASK_TIMEOUT_MS = 1500  # wall time; mDNS answers within 120 ms (RFC 6762 §6), the rest is patience
MAX_ADVERTS = 2000
"""A network that shouts more names than this is not one house; the rest is dropped."""


class Scanner:
    """Listens for adverts on one interface from `open` to `close`.

    Attributes:
        interface: the address listened on; "" for the machine's default.
        sightings: advert name → the last sighting of it.
    """

    def __init__(
        self,
        clock: Clock,
        on_sighting: Callable[[Sighting], None],
        *,
        interface: str = "",
        within: str = "",
    ) -> None:
        """Prepare a scanner.

        Args:
            clock: stamps sightings.
            on_sighting: called in the loop for each sighting, again when its address changes.
            interface: address of the interface to listen on.
            within: only addresses of this network count, for example "127.9.1.4/32"; "" for all.
        """
        self.interface = interface
        self.sightings: dict[str, Sighting] = {}
        self._clock = clock
        self._on_sighting = on_sighting
        self._within = ipaddress.ip_network(within) if within else None
        self._asking: set[asyncio.Task[None]] = set()
        self._few_at_once = asyncio.Semaphore(ASKED_AT_ONCE)
        self._zeroconf: AsyncZeroconf | None = None
        self._browser: AsyncServiceBrowser | None = None

    async def open(self) -> None:
        """Start listening; where it listens already, it goes on.

        Raises:
            LinkError: the interface can't be listened on.
        """
        if self._zeroconf is not None:
            return
        try:
            _hold_interface(self.interface)
            self._zeroconf = (
                AsyncZeroconf(interfaces=[self.interface], ip_version=IPVersion.V4Only)
                if self.interface
                else AsyncZeroconf(ip_version=IPVersion.V4Only)
            )
        except OSError as reason:
            raise LinkError(
                f"can't listen for units on {self.interface or 'the network'}: {reason}.",
                next_step="Choose another interface, or add units by address.",
            ) from reason
        self._browser = AsyncServiceBrowser(
            self._zeroconf.zeroconf, SERVICE_TYPE, handlers=[self._heard]
        )

    async def close(self) -> None:
        """Stop listening; may be called twice."""
        for task in self._asking:
            task.cancel()
        await asyncio.gather(*self._asking, return_exceptions=True)
        if self._browser is not None:
            await self._browser.async_cancel()
        if self._zeroconf is not None:
            await self._zeroconf.async_close()
        self._browser = self._zeroconf = None

    async def __aenter__(self) -> Self:
        """Open."""
        await self.open()
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close."""
        await self.close()

    def _heard(
        self,
        zeroconf: Zeroconf,
        service_type: str,
        name: str,
        state_change: ServiceStateChange,
    ) -> None:
        if state_change is ServiceStateChange.Removed or len(self._asking) >= MAX_ADVERTS:
            return  # a goodbye is only a hint: whether a unit lives is told by its stream
        task = asyncio.ensure_future(self._resolve(zeroconf, service_type, name))
        self._asking.add(task)
        task.add_done_callback(self._asking.discard)

    async def _resolve(self, zeroconf: Zeroconf, service_type: str, name: str) -> None:
        info = AsyncServiceInfo(service_type, name)
        if not info.load_from_cache(zeroconf):
            async with self._few_at_once:
                if not await info.async_request(zeroconf, ASK_TIMEOUT_MS):
                    return
        url = self._url_of(info)
        if url and (name in self.sightings or len(self.sightings) < MAX_ADVERTS):
            host = (info.server or "").rstrip(".").lower()
            sighting = Sighting(name.removesuffix(f".{SERVICE_TYPE}"), url, self._clock.now(), host)
            self.sightings[name] = sighting
            self._on_sighting(sighting)

    def _url_of(self, info: AsyncServiceInfo) -> str:
        record = read_text_record(info.text or b"")
        scheme = text_of(record, "scheme", "http")
        path = text_of(record, "td", WELL_KNOWN_PATH)
        for address in info.parsed_addresses(IPVersion.V4Only):
            outside = self._within and ipaddress.ip_address(address) not in self._within
            if not outside and scheme in ("http", "https") and path.startswith("/"):
                return f"{scheme}://{address}:{info.port}{path}"
        return ""


def _hold_interface(address: str) -> None:
    """Ask for a port on the interface first: zeroconf leaves a socket open where it isn't there.

    Raises:
        OSError: this machine has no such interface.
    """
    if address:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as trial:
            trial.bind((address, 0))

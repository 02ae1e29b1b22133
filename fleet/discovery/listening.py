"""Opening and closing the listener on some interfaces; the one place that knows zeroconf's own choices."""

import contextlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import zeroconf as mdns
from zeroconf import IPVersion, ServiceStateChange, Zeroconf
from zeroconf._dns import DNSQuestion  # open like the next, but left out of `__all__`
from zeroconf._protocol.outgoing import DNSOutgoing
from zeroconf.asyncio import AsyncServiceBrowser, AsyncZeroconf

from fleet.discovery.interfaces import Ear

_QUERY = 0
_CLASS_IN = 1
_TXT, _SRV = 16, 33
_PACKET_BYTES = 1400
_BESIDE_A_NAME = (
    12  # ends, types and classes of two questions, and the pointer that is the second's name
)

Handler = Callable[[Zeroconf, str, str, ServiceStateChange], None]
"""Called with `zeroconf`, `service_type`, `name` and `state_change` by name."""


@dataclass(frozen=True, slots=True)
class Listening:
    """A listener that is open.

    Attributes:
        ears: what it listens on.
        zeroconf: the library's own, with its cache.
    """

    ears: tuple[Ear, ...]
    zeroconf: AsyncZeroconf
    _browser: AsyncServiceBrowser

    def ask(self, names: Sequence[str], *, first: bool) -> None:
        """Ask everybody for what stands behind full names: where, and the TXT record.

        Args:
            names: each with its last dot.
            first: it wasn't asked for before. Then the answer may come to this machine alone and at once
                (RFC 6762 §5.4); another program that shares the port may get it in our place, so only then.
        """
        for some in in_packets(names):
            question = DNSOutgoing(_QUERY)
            for name in some:
                for kind in (_SRV, _TXT):
                    asked = DNSQuestion(name, kind, _CLASS_IN)
                    asked.unicast = first
                    question.add_question(asked)
            with contextlib.suppress(mdns.Error):  # a name that can't be put into a question
                self.zeroconf.zeroconf.async_send(question)

    async def close(self) -> None:
        """Stop listening."""
        await self._browser.async_cancel()
        await self.zeroconf.async_close()


def listen(ears: Sequence[Ear], types: Sequence[str], handler: Handler) -> Listening:
    """Listen for full service types on some ears, of which there is one at least.

    Raises:
        OSError: an interface can't be listened on.
    """
    choice: list[str | int] = [ear.address or ear.index for ear in ears]
    zeroconf = AsyncZeroconf(interfaces=choice, ip_version=_families(ears))
    browser = AsyncServiceBrowser(zeroconf.zeroconf, list(types), handlers=[handler])
    return Listening(tuple(ears), zeroconf, browser)


def in_packets(names: Sequence[str]) -> Iterator[Sequence[str]]:
    """Yield names that fit into one packet each, reckoned without compression.

    A question in several parts says so (RFC 6762 §7.2), and who answers waits half a second for the rest.
    """
    some: list[str] = []
    size = 0
    for name in names:
        length = len(name.encode()) + _BESIDE_A_NAME
        if some and size + length > _PACKET_BYTES:
            yield some
            some, size = [], 0
        some.append(name)
        size += length
    if some:
        yield some


def _families(ears: Sequence[Ear]) -> IPVersion:
    if all(ear.address for ear in ears):
        return IPVersion.V4Only
    return IPVersion.All if any(ear.address for ear in ears) else IPVersion.V6Only

"""Where the thing behind an advert is asked: one address of those that it says, and a URL made of it.

An advert is anybody's word. What is made of it leads to a machine of this network or of a private one, to
a real port, and to a path of printable characters; anything else is passed over.

1. On the networks that are listened on: IPv4 before IPv6, link-local last and only with its scope.
2. Elsewhere, as through a reflector between two networks: private addresses alone (RFC 1918, RFC 4193).
3. Loopback counts only where it is listened on.
4. Of equals the one that was asked before stays, then the youngest.

The scope of a link-local address is written bare, `http://[fe80::1%eth0]:80/`, as in RFC 4007 §11. With
the form of RFC 6874, `%25eth0`, aiohttp looks for an interface "25eth0" and never connects (tried).
"""

import ipaddress
import re
import socket
from collections.abc import Mapping, Sequence

from fleet.discovery.cached import Address, Told
from fleet.discovery.interfaces import Network
from fleet.discovery.text_records import text_of

WOT_SERVICE = "_wot._tcp"
WELL_KNOWN_PATH = "/.well-known/wot"

_PATH = re.compile(r"/[!$%&'()*+,./0-9:;=?@A-Z_a-z~\-]*")
_HIGHEST_PORT = 65535


def url_of(
    told: Told,
    service_type: str,
    record: Mapping[str, bytes | None],
    *,
    networks: Sequence[Network],
    scope: str = "",
    within: Network | None = None,
    before: str = "",
) -> str:
    """Return where to ask, "" where an advert leads nowhere.

    Args:
        told: what the advert says.
        service_type: "_wot._tcp" says path and scheme in its TXT record; of another its root is asked.
        record: its TXT record.
        networks: those that are listened on.
        scope: the interface that a link-local address without a scope belongs to; "" for unknown.
        within: only addresses of this network count.
        before: the URL that was made of the last advert of this name.
    """
    tail = _tail_of(service_type, record)
    if not tail or not 0 < told.port <= _HIGHEST_PORT:
        return ""
    scheme, path = tail
    best: tuple[tuple[int, bool], str] | None = None
    for address in told.addresses:
        rank = rank_of(address, networks, scope)
        if rank is None or (within is not None and not _lies_in(address, within)):
            continue
        url = f"{scheme}://{_written(address, scope)}:{told.port}{path}"
        if best is None or (rank, url != before) < best[0]:
            best = ((rank, url != before), url)
    return best[1] if best else ""


_LINK_OF_TWO = 2  # a point-to-point link: both of its numbers are hosts (RFC 3021)


def rank_of(address: Address, networks: Sequence[Network], scope: str = "") -> int | None:
    """Return how good an address is, 0 the best; None where it is never asked."""
    if isinstance(address, ipaddress.IPv6Address) and address.is_link_local:
        return 2 if address.scope_id or scope else None
    here = [network for network in networks if _lies_in(address, network)]
    if here:
        broadcast = any(_is_edge(address, network) for network in here)
        return None if broadcast else int(isinstance(address, ipaddress.IPv6Address))
    if address.is_multicast or address.is_unspecified or address.is_reserved:
        return None
    if address.is_loopback or address.is_link_local or not address.is_private:
        return None
    return 3 if isinstance(address, ipaddress.IPv4Address) else 4


def _tail_of(service_type: str, record: Mapping[str, bytes | None]) -> tuple[str, str] | None:
    if service_type != WOT_SERVICE:
        return "http", "/"
    scheme = text_of(record, "scheme", "http")
    path = text_of(record, "td", WELL_KNOWN_PATH)
    sound = scheme in ("http", "https") and _PATH.fullmatch(path)
    return (scheme, path) if sound else None


def _lies_in(address: Address, network: Network) -> bool:
    return address.version == network.version and address in network


def _is_edge(address: Address, network: Network) -> bool:
    """Tell a network's own number and its broadcast address; a network of two has neither (RFC 3021)."""
    if isinstance(address, ipaddress.IPv6Address) or network.num_addresses <= _LINK_OF_TWO:
        return False
    return address in (network.network_address, network.broadcast_address)


def _written(address: Address, scope: str) -> str:
    if isinstance(address, ipaddress.IPv4Address):
        return str(address)
    plain = str(address).partition("%")[0]
    if not address.is_link_local:
        return f"[{plain}]"
    return f"[{plain}%{_name_of(address.scope_id or '') or scope}]"


def _name_of(scope_id: str) -> str:
    """Return the interface's name for its number, the number where it has gone."""
    if not scope_id.isdigit():
        return scope_id
    try:
        return socket.if_indextoname(int(scope_id))
    except OSError:
        return scope_id

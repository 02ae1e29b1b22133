"""What the listener's cache says about one name: host, port, TXT record and addresses.

Read straight from the cache and not through the library's own reader, for two reasons: records that were
replaced stay in the cache for a second and more (RFC 6762 §10.2), and only the records' own times tell
which of two addresses is the present one; and nothing has to be built for a name that is complete.
"""

import ipaddress
from collections.abc import Sequence
from dataclasses import dataclass

from zeroconf import Zeroconf, current_time_millis
from zeroconf._dns import (
    DNSAddress,
    DNSRecord,
    DNSService,
    DNSText,
)  # open, but left out of `__all__`

_CLASS_IN = 1
_A, _TXT, _AAAA, _SRV = 1, 16, 28, 33
_DYING_S = 1
"""The life that a replaced record is given (RFC 6762 §10.2)."""

Address = ipaddress.IPv4Address | ipaddress.IPv6Address


@dataclass(frozen=True, slots=True)
class Told:
    """What is known about one name.

    Attributes:
        host: the machine's own `.local` name in lower case, without the last dot.
        port: where the service listens.
        text: the TXT record as it came.
        addresses: those that stand, IPv4 first, then the youngest first; an IPv6 one carries its scope
            where that is known.
        settled: the cache holds one address a family, dead ones included. Where it holds more, one that
            comes back, or goes later, is no news to the library and has to be looked for.
    """

    host: str
    port: int
    text: bytes
    addresses: tuple[Address, ...]
    settled: bool


def told(zeroconf: Zeroconf, name: str, *, text_needed: bool = True) -> Told | None:
    """Return what the cache says about a full name; None where host, TXT record or address is missing.

    Args:
        zeroconf: whose cache.
        name: instance and service type, with the last dot.
        text_needed: False once it was asked for: a name may deny that it has one (RFC 6762 §6.1).
    """
    service = _youngest(zeroconf, name, _SRV)
    if not isinstance(service, DNSService):
        return None
    text = _youngest(zeroconf, name, _TXT)
    if text_needed and text is None:
        return None
    families = [_records(zeroconf, service.server, kind) for kind in (_A, _AAAA)]
    standing = [record for family in families for record in _said_together(_standing(family))]
    addresses = tuple(dict.fromkeys(each for record in standing if (each := _address(record))))
    if not addresses:
        return None
    host = service.server.rstrip(".").lower()
    raw = text.text if isinstance(text, DNSText) else b""
    return Told(host, service.port, raw, addresses, all(len(each) <= 1 for each in families))


def _records(zeroconf: Zeroconf, name: str, kind: int) -> list[DNSRecord]:
    return zeroconf.cache.get_all_by_details(name, kind, _CLASS_IN)


def _youngest(zeroconf: Zeroconf, name: str, kind: int) -> DNSRecord | None:
    records = _standing(_records(zeroconf, name, kind))
    return records[0] if records else None


def _standing(records: Sequence[DNSRecord]) -> list[DNSRecord]:
    """Leave out what is expired or, beside a living one, was replaced; the youngest comes first."""
    if not records:
        return []
    now_ms = current_time_millis()  # the library's own clock, by which it counts its records' lives
    alive = [record for record in records if not record.is_expired(now_ms)]
    if len(alive) <= 1:
        return alive
    living = [record for record in alive if record.ttl > _DYING_S] or alive
    return sorted(living, key=lambda record: -record.created)


def _said_together(records: Sequence[DNSRecord]) -> list[DNSRecord]:
    """Keep the youngest and what came in the same packet with it.

    Who says a new address within a second of the old one replaces nothing by the rule of §10.2: the old
    one would stand for two minutes more.
    """
    return [record for record in records if record.created == records[0].created]


def _address(record: DNSRecord) -> Address | None:
    if not isinstance(record, DNSAddress):
        return None
    scope = f"%{record.scope_id}" if record.scope_id else ""
    try:
        found = ipaddress.ip_address(record.address)
    except ValueError:  # neither 4 nor 16 bytes long
        return None
    return ipaddress.ip_address(f"{found}{scope}") if scope else found

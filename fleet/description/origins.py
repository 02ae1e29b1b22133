"""Addresses put onto the origin that a description came from, so that no request can leave it.

Only path and query of an address are kept; scheme, host and port are always those of the description.
"""

from dataclasses import dataclass
from urllib.parse import quote, urljoin, urlsplit

from fleet.description.limits import MAX_HREF_CHARS

_DEFAULT_PORTS = {"http": 80, "https": 443}
_SAFE_IN_PATH = "%/:@!$&'()*+,;=~-._{}|"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a description came from and whose names count as its own.

    Attributes:
        url: the description's address.
        base: what its forms are relative to; "" for the description itself.
        own_names: host names that the unit itself advertised, in lower case without a final dot.
    """

    url: str
    base: str = ""
    own_names: frozenset[str] = frozenset()


def origin_of(url: str) -> str:
    """Return scheme, host and port of an address, the port always written.

    Raises:
        ValueError: the address is no http(s) address of a host.
    """
    scheme, host, port = _origin(url)
    return f"{scheme}://[{host}]:{port}" if ":" in host else f"{scheme}://{host}:{port}"


def on_own_origin(href: str, place: Place) -> tuple[str, str | None]:
    """Return an address on the description's origin, and where it pointed if that was elsewhere.

    A name that the unit itself advertised counts as its own where scheme and port agree.

    Raises:
        ValueError: the address isn't one of http or https, or is no address at all.
    """
    if len(href) > MAX_HREF_CHARS:
        raise ValueError("its address is too long")
    meant = urljoin(urljoin(place.url, place.base), href)
    elsewhere = None if _is_own(meant, place) else origin_of(meant)
    parts = urlsplit(meant)
    path = quote("/" + parts.path.lstrip("/"), safe=_SAFE_IN_PATH)
    query = "?" + quote(parts.query, safe=_SAFE_IN_PATH + "?") if parts.query else ""
    return _written_origin(place.url) + path + query, elsewhere


def _is_own(meant: str, place: Place) -> bool:
    scheme, host, port = _origin(meant)
    here_scheme, here_host, here_port = _origin(place.url)
    named = host == here_host or host in place.own_names
    return named and (scheme, port) == (here_scheme, here_port)


def _origin(url: str) -> tuple[str, str, int]:
    parts = urlsplit(url)
    if parts.scheme not in _DEFAULT_PORTS or not parts.hostname:
        raise ValueError(f"{url[:80]!r} is no http address")
    return parts.scheme, parts.hostname.rstrip("."), parts.port or _DEFAULT_PORTS[parts.scheme]


def _written_origin(url: str) -> str:
    """Return the origin as the description's address writes it, without any user name."""
    parts = urlsplit(url)
    return f"{parts.scheme}://{parts.netloc.rpartition('@')[2]}"

"""Addresses put onto the origin that a description came from, so that no request can leave it.

1. Of an http or WebSocket address only path and query are kept; scheme, host and port are always
   those of the description. A WebSocket begins as an http request (RFC 6455 §3), so ws stands on the
   origin of http, and wss on that of https.
2. A broker is another place by its nature. One is spoken to only if a person named it, or if the
   description itself came by it; no description can name a new one.
"""

from dataclasses import dataclass
from urllib.parse import quote, unquote, urljoin, urlsplit

from fleet.description.limits import MAX_HREF_CHARS

_DEFAULT_PORTS = {"http": 80, "https": 443, "ws": 80, "wss": 443, "mqtt": 1883, "mqtts": 8883}
_UNDERLYING = {"ws": "http", "wss": "https"}
_SOCKET_OVER = {"http": "ws", "https": "wss"}
_BROKERS = frozenset({"mqtt", "mqtts"})
_SAFE_IN_PATH = "%/:@!$&'()*+,;=~-._{}|"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a description came from and whose names count as its own.

    Attributes:
        url: the description's address.
        base: what its forms are relative to; "" for the description itself.
        own_names: host names that the unit itself advertised, in lower case without a final dot.
        brokers: "host:port" of each broker that a person named, in lower case.
    """

    url: str
    base: str = ""
    own_names: frozenset[str] = frozenset()
    brokers: frozenset[str] = frozenset()


def origin_of(url: str) -> str:
    """Return scheme, host and port of an address, the port always written.

    Raises:
        ValueError: the address is none of http, a WebSocket or a broker at a host.
    """
    scheme, host, port = _origin(url)
    return f"{scheme}://{_authority(host, port)}"


def is_same_origin(url: str, own_url: str) -> bool:
    """Say whether a request to `url` goes to where `own_url` lies; ws counts as http, wss as https.

    Raises:
        ValueError: one of them is no address of ours.
    """
    scheme, host, port = _origin(url)
    own_scheme, own_host, own_port = _origin(own_url)
    same_scheme = _UNDERLYING.get(scheme, scheme) == _UNDERLYING.get(own_scheme, own_scheme)
    return same_scheme and (host, port) == (own_host, own_port)


def scheme_of(url: str) -> str:
    """Return an address' scheme in lower case: http, https, ws, wss, mqtt, mqtts or another word."""
    return urlsplit(url).scheme


def is_http(url: str) -> bool:
    """Say whether an address is asked by plain requests."""
    return scheme_of(url) in _SOCKET_OVER


def is_socket(url: str) -> bool:
    """Say whether an address is a WebSocket's."""
    return scheme_of(url) in _UNDERLYING


def is_broker(url: str) -> bool:
    """Say whether an address is a broker's (MQTT)."""
    return scheme_of(url) in _BROKERS


def on_own_origin(href: str, place: Place) -> tuple[str, str | None]:
    """Return an address on the description's origin, and where it pointed if that was elsewhere.

    A name that the unit itself advertised counts as its own where scheme and port agree. An address
    of a broker is returned as it is, but for a user's name, if that broker may be spoken to.

    Raises:
        ValueError: the address is none of ours, or none at all, or is that of a broker unnamed.
    """
    if len(href) > MAX_HREF_CHARS:
        raise ValueError("its address is too long")
    meant = _joined(_joined(place.url, place.base), href)
    if is_broker(meant):
        return _at_broker(meant, place), None
    if is_broker(place.url):
        raise ValueError(f"{meant[:80]!r} leads away from the broker that the unit is behind")
    elsewhere = None if _is_own(meant, place) else origin_of(meant)
    parts = urlsplit(meant)
    path = quote("/" + parts.path.lstrip("/"), safe=_SAFE_IN_PATH)
    query = "?" + quote(parts.query, safe=_SAFE_IN_PATH + "?") if parts.query else ""
    return _written_origin(place.url, socket=is_socket(meant)) + path + query, elsewhere


def on_own_http_origin(href: str, place: Place) -> str:
    """Return an address on the description's origin that a plain request can go to.

    Raises:
        ValueError: the address is no http address.
    """
    url, _ = on_own_origin(href, place)
    if not is_http(url):
        raise ValueError(f"{href[:80]!r} is no http address")
    return url


def broker_and_path(url: str) -> tuple[str, str]:
    """Return a broker's origin, and the rest of the address as a topic would be written.

    Raises:
        ValueError: the address is none of ours.
    """
    return origin_of(url), unquote(urlsplit(url).path.removeprefix("/"))


def _joined(base: str, href: str) -> str:
    # The standard library resolves only schemes that it knows, and a broker's is none of them.
    scheme = scheme_of(base)
    if scheme in _BROKERS and not scheme_of(href):
        rest = base.strip()[len(scheme) :]
        return scheme + urljoin("http" + rest, href).removeprefix("http")
    return urljoin(base, href)


def _at_broker(meant: str, place: Place) -> str:
    _, host, port = _origin(meant)
    named = _authority(host, port) in place.brokers
    if not named and not (is_broker(place.url) and is_same_origin(meant, place.url)):
        raise ValueError(f"nobody named the broker {_authority(host, port)[:80]}")
    return origin_of(meant) + urlsplit(meant).path


def _is_own(meant: str, place: Place) -> bool:
    scheme, host, port = _origin(meant)
    here_scheme, here_host, here_port = _origin(place.url)
    named = host == here_host or host in place.own_names
    return named and (_UNDERLYING.get(scheme, scheme), port) == (here_scheme, here_port)


def _origin(url: str) -> tuple[str, str, int]:
    parts = urlsplit(url)
    if parts.scheme not in _DEFAULT_PORTS or not parts.hostname:
        raise ValueError(f"{url[:80]!r} is no http address, nor one of a WebSocket or a broker")
    return parts.scheme, parts.hostname.rstrip("."), parts.port or _DEFAULT_PORTS[parts.scheme]


def _authority(host: str, port: int) -> str:
    return f"[{host}]:{port}" if ":" in host else f"{host}:{port}"


def _written_origin(url: str, *, socket: bool) -> str:
    """Return the origin as the description's address writes it, without any user name."""
    parts = urlsplit(url)
    scheme = _SOCKET_OVER.get(parts.scheme, parts.scheme) if socket else parts.scheme
    return f"{scheme}://{parts.netloc.rpartition('@')[2]}"

"""A pasted list of addresses, read into one URL a unit, or a sentence for what can't be read.

Items stand on lines, or between commas, semicolons and blanks; after `#` stands a comment. An item is

1. an address or a name with a dot, with or without port and path: `192.0.2.10`, `unit-7.local:8080/td`;
2. IPv6, in brackets where a port follows; link-local with its interface: `[fe80::1%eth0]:8080`;
3. a run of addresses, `192.0.2.10-20` or `192.0.2.10-192.0.2.20`, or a small network, `192.0.2.0/28`, a run
   with port and path behind it where they are the same for all;
4. any of 1 and 2 as a URL: `http`, `https`, and `mqtt` or `mqtts` for a broker.

What is missing (a path, a port) is left to the reader of descriptions.
"""

import ipaddress
import re
from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import urlsplit

MAX_PASTED_CHARS = 64 * 1024
MAX_A_RUN = 256
MAX_URLS = 1024

_BETWEEN = re.compile(r"[\s,;]+")
_RUN = re.compile(r"([\d.]+)-([\d.]+)((?::\d+)?(?:/.*)?)")
_NETWORK = re.compile(r"[\d.]+/\d{1,2}")
_NAME = re.compile(
    r"(?=.{1,253}\Z)(?:[a-z0-9_](?:[a-z0-9_-]{0,61}[a-z0-9_])?\.)*[a-z0-9_-]{1,63}", re.IGNORECASE
)
_SECRET = re.compile(r".*@")
_SCHEMES = ("http", "https", "mqtt", "mqtts")


@dataclass(frozen=True, slots=True)
class AddressItem:
    """One item of a pasted list.

    Attributes:
        text: as it was pasted.
        urls: what it means; several for a run, none where it can't be read.
        said: what is wrong with it, "" where nothing is.
    """

    text: str
    urls: tuple[str, ...] = ()
    said: str = ""


def read_addresses(pasted: str) -> tuple[AddressItem, ...]:
    """Return the items of a pasted list in their order; an address that was named before isn't again."""
    if len(pasted) > MAX_PASTED_CHARS:
        most = MAX_PASTED_CHARS // 1024
        return (
            AddressItem(pasted[:40], said=f"The list is longer than {most} KiB; paste a part."),
        )
    items: list[AddressItem] = []
    named: set[str] = set()
    for text in _items(pasted):
        item = _without(named, _read(text))
        if len(named) + len(item.urls) > MAX_URLS:
            item = AddressItem(text, said=f"Left out: the list names over {MAX_URLS} addresses.")
        named.update(item.urls)
        items.append(item)
    return tuple(items)


def _items(pasted: str) -> Iterator[str]:
    for line in pasted.splitlines():
        yield from filter(None, _BETWEEN.split(line.partition("#")[0]))


def _without(named: set[str], item: AddressItem) -> AddressItem:
    fresh = tuple(url for url in item.urls if url not in named)
    if item.urls and not fresh:
        return AddressItem(item.text, said="This address stands further up already.")
    return AddressItem(item.text, fresh, item.said)


def _read(text: str) -> AddressItem:
    try:
        return AddressItem(text, tuple(_urls_of(text)))
    except ValueError as reason:
        return AddressItem(_SECRET.sub("…@", text), said=str(reason))


def _urls_of(text: str) -> list[str]:
    """Return the URLs of one item.

    Raises:
        ValueError: it can't be read; the message is for the person who pasted it.
    """
    if not (text.isascii() and text.isprintable()):
        raise ValueError("An address is written in plain letters, digits and signs.")
    if "@" in text:
        raise ValueError(
            "Leave name and password out of the address: they are asked for and kept apart."
        )
    if "://" in text:
        return [_url_of(text)]
    if _NETWORK.fullmatch(text):
        return [f"http://{address}" for address in _addresses_of_network(text)]
    if run := _RUN.fullmatch(text):
        return [
            _url_of(f"http://{address}{run[3]}") for address in _addresses_of_run(run[1], run[2])
        ]
    if _is_bare_six(text):
        text = f"[{text}]"
    elif not text.startswith("[") and "." not in re.split("[:/]", text)[0]:
        raise ValueError(
            "This is no address. Write it like 192.0.2.10, unit-7.local or [fe80::1%eth0]:8080."
        )
    return [_url_of(f"http://{text}")]


def _addresses_of_network(text: str) -> list[ipaddress.IPv4Address]:
    try:
        network = ipaddress.IPv4Network(text, strict=False)
    except ValueError:
        raise ValueError("This is no network. Write it like 192.0.2.0/28.") from None
    if network.num_addresses > MAX_A_RUN:
        raise ValueError(
            f"This network holds {network.num_addresses} addresses, and {MAX_A_RUN} can be tried at once. "
            "Name a part of it."
        )
    return list(network.hosts())


def _addresses_of_run(first: str, last: str) -> list[ipaddress.IPv4Address]:
    if "." not in last:
        last = f"{first.rpartition('.')[0]}.{last}"
    try:
        start, end = ipaddress.IPv4Address(first), ipaddress.IPv4Address(last)
    except ValueError:
        raise ValueError("This is no run of addresses. Write it like 192.0.2.10-20.") from None
    count = int(end) - int(start) + 1
    if count < 1:
        raise ValueError("This run ends before it starts.")
    if count > MAX_A_RUN:
        raise ValueError(
            f"This run holds {count} addresses, and {MAX_A_RUN} can be tried at once. Name a part of it."
        )
    return [start + offset for offset in range(count)]


def _url_of(text: str) -> str:
    try:
        parts = urlsplit(text)
        port, host = parts.port, parts.hostname or ""
    except ValueError:
        raise ValueError(
            "The address or its port can't be read. Write it like 192.0.2.10:8080."
        ) from None
    if parts.scheme not in _SCHEMES:
        raise ValueError(f"Addresses start with {', '.join(_SCHEMES)} or with none of them.")
    if port == 0 or not host:
        raise ValueError("An address needs a host, and a port is from 1 to 65535.")
    query = f"?{parts.query}" if parts.query else ""
    return f"{parts.scheme}://{_host_of(host)}{f':{port}' if port else ''}{parts.path}{query}"


def _host_of(host: str) -> str:
    try:
        address = ipaddress.ip_address(host.replace("%25", "%", 1))
    except ValueError:
        return _name_of(host)
    if address.is_multicast or address.is_unspecified or str(address) == "255.255.255.255":
        raise ValueError(f"{address} is no address of one machine.")
    if isinstance(address, ipaddress.IPv4Address):
        return str(address)
    if address.is_link_local and not address.scope_id:
        raise ValueError(f"{address} needs the interface it is behind: [{address}%eth0].")
    return f"[{address}]"


def _name_of(host: str) -> str:
    if not _NAME.fullmatch(host) or host.replace(".", "").isdigit():
        raise ValueError(f"{host} is neither an address nor a name.")
    return host.lower()


def _is_bare_six(text: str) -> bool:
    try:
        address = ipaddress.ip_address(text.replace("%25", "%", 1))
        return isinstance(address, ipaddress.IPv6Address)
    except ValueError:
        return False

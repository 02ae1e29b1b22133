"""The gateway and the neighbours of this machine, from Linux's own tables; elsewhere none are known.

`/proc/net/route` and `/proc/net/arp` are described in proc(5); numbers of the former are hexadecimal in the
machine's byte order.
"""

import socket
import sys
from collections.abc import Iterable
from pathlib import Path

_ROUTES = Path("/proc/net/route")
_NEIGHBOURS = Path("/proc/net/arp")
_COMPLETE = 0x2  # ATF_COM, <net/if_arp.h>
_GATEWAY = 0x2  # RTF_GATEWAY, <net/route.h>


def gateways() -> dict[str, str]:
    """Return interface → the address of its gateway."""
    return gateways_in(_lines(_ROUTES))


def neighbours() -> dict[str, str]:
    """Return address → interface of the machines whose hardware address is known."""
    return neighbours_in(_lines(_NEIGHBOURS))


def gateways_in(lines: Iterable[str]) -> dict[str, str]:
    """Read the default routes of a table of routes; the first of an interface counts."""
    found: dict[str, str] = {}
    for line in lines:
        match line.split():
            case [name, "00000000", gateway, flags, *_] if int(flags, 16) & _GATEWAY:
                raw = int(gateway, 16).to_bytes(4, sys.byteorder)
                found.setdefault(name, socket.inet_ntoa(raw))
    return found


def neighbours_in(lines: Iterable[str]) -> dict[str, str]:
    """Read the complete lines of a table of neighbours."""
    found: dict[str, str] = {}
    for line in lines:
        match line.split():
            case [address, _, flags, _, _, name] if flags.startswith("0x"):
                if int(flags, 16) & _COMPLETE:
                    found[address] = name
    return found


def _lines(path: Path) -> list[str]:
    try:
        return path.read_text(encoding="utf-8").splitlines()[1:]
    except OSError:
        return []

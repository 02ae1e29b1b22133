"""A unit as the network sees it: an advert and a port that answers, until the input ends.

Arguments: full instance name, address, and the addresses that the advert names if they are others. Each
line on the input replaces the addresses in the advert.
"""

import asyncio
import socket
import sys

from zeroconf import IPVersion, ServiceInfo
from zeroconf.asyncio import AsyncZeroconf


def _say(word):
    sys.stdout.write(f"{word}\n")
    sys.stdout.flush()


async def _answer(reader, writer):
    await reader.readline()
    writer.write(b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\nConnection: close\r\n\r\n{}")
    await writer.drain()
    writer.close()


def _advert(name, addresses):
    instance, kind = name.split(".", 1)
    return ServiceInfo(
        f"{kind}.local.",
        f"{name}.local.",
        parsed_addresses=list(addresses),
        port=8080,
        server=f"{instance}.local.",
        properties={"td": "/td"},
    )


async def _serve(name, address, *addresses):
    server = await asyncio.start_server(_answer, sock=_socket())
    six = IPVersion.All if any(":" in each for each in addresses) else IPVersion.V4Only
    interfaces = [address, socket.if_nametoindex("eth0")] if six is IPVersion.All else [address]
    zeroconf = AsyncZeroconf(interfaces=interfaces, ip_version=six)
    info = _advert(name, addresses or [address])
    await (await zeroconf.async_register_service(info, cooperating_responders=True))
    _say("ready")
    while line := await asyncio.to_thread(sys.stdin.readline):
        info = _advert(name, line.split())
        await (await zeroconf.async_update_service(info))
        _say("said")
    await zeroconf.async_unregister_all_services()
    await zeroconf.async_close()
    server.close()


def _socket():
    both = socket.socket(socket.AF_INET6, socket.SOCK_STREAM)
    both.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 0)
    both.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    both.bind(("::", 8080))
    return both


if __name__ == "__main__":
    asyncio.run(_serve(*sys.argv[1:]))

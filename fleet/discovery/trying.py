"""Finding out why no unit is heard, by trying: all trials at once, each bounded, the whole in about 3 s.

What is asked: on every interface that is up, everybody for services; known units and a few neighbours
alone; known units, neighbours and the gateway by TCP. Nothing is sent to an address that isn't known from
earlier or from the system's own tables, and nothing but an empty connection by TCP.
"""

import asyncio
import contextlib
import ipaddress
import secrets
from collections.abc import Callable, Sequence
from dataclasses import replace
from urllib.parse import urlsplit

from fleet.discovery.choosing import WOT_SERVICE
from fleet.discovery.diagnosis import judge
from fleet.discovery.hearing import hear_on
from fleet.discovery.interfaces import chosen_of, interfaces
from fleet.discovery.routes import gateways, neighbours
from fleet.discovery.tried import Answer, Hearing, Known, Trials
from fleet.model.clock import Clock
from fleet.model.meeting import Diagnosis, Interface

CONNECT_S = 1.5  # wall time
AGAIN_S = 0.4
MAX_KNOWN = 32
MAX_NEIGHBOURS = 16
GATEWAY_PORTS = (53, 80, 443)

_PORTS = {"http": 80, "https": 443, "mqtt": 1883, "mqtts": 8883}


async def diagnose(
    clock: Clock,
    interface: str,
    known_urls: Sequence[str],
    heard: int,
    *,
    service_types: Sequence[str] = (WOT_SERVICE,),
    look: Callable[[], tuple[Interface, ...]] = interfaces,
) -> Diagnosis:
    """Find out why no unit is heard.

    Args:
        clock: measures how long it took.
        interface: what is listened on: an address or a name, "" for all interfaces.
        known_urls: where units known from earlier lay; those with a name instead of an address are left
            out, and of many the first 32 are asked.
        heard: how many units were heard; with any, nothing is tried.
        service_types: what units advertise under.
        look: says which interfaces are up.
    """
    started_s = clock.monotonic_s()
    up = look()
    names = frozenset(each.name for each in chosen_of(interface, up))
    trials = Trials(interface, names, up, heard)
    if not heard:
        trials = await _try(trials, known_urls, service_types)
    took_s = (clock.monotonic_s() - started_s) / clock.speed
    found = judge(trials)
    return replace(found, tried=(*found.tried, f"All of it took {took_s:.1f} s."))


async def _try(trials: Trials, known_urls: Sequence[str], service_types: Sequence[str]) -> Trials:
    before = neighbours()
    by_interface = gateways()
    gateway = _gateway_of(trials.chosen_names, by_interface)
    own = frozenset(each.address.partition("%")[0] for each in trials.up)
    near = [
        each for each, name in before.items() if name in trials.chosen_names and each != gateway
    ]
    known = [each for url in dict.fromkeys(known_urls) if (each := _address_of(url))][:MAX_KNOWN]
    hearings, answers, there, gateway_there = await asyncio.gather(
        _hear_all(trials.up, own, gateway, [*(host for _, host, _ in known), *near], service_types),
        asyncio.gather(*(_connect(host, port) for _, host, port in known)),
        asyncio.gather(*(_connect(host, GATEWAY_PORTS[1]) for host in near[:MAX_NEIGHBOURS])),
        _is_there(gateway, before),
    )
    return replace(
        trials,
        hearings=hearings,
        known=tuple(
            Known(url, _behind(host, trials.up), answer)
            for (url, host, _), answer in zip(known, answers, strict=True)
        ),
        gateway=gateway,
        gateway_there=gateway_there,
        neighbours=frozenset(
            host for host, answer in zip(near, there, strict=False) if answer is not Answer.NOTHING
        ),
    )


async def _hear_all(
    up: Sequence[Interface],
    own: frozenset[str],
    gateway: str,
    alone: Sequence[str],
    service_types: Sequence[str],
) -> tuple[Hearing, ...]:
    """Ask on one address an interface, IPv4 where it has one."""
    first = {each.name: each for each in reversed(up)}
    number = secrets.randbelow(0x8000)
    return tuple(
        await asyncio.gather(
            *(
                hear_on(
                    each,
                    own=own,
                    gateway=gateway,
                    alone=[host for host in alone if _behind(host, [each])][:MAX_KNOWN],
                    service_types=service_types,
                    number=number + 2 * place,
                )
                for place, each in enumerate(sorted(first.values(), key=lambda each: each.name))
            )
        )
    )


async def _connect(host: str, port: int) -> Answer:
    with contextlib.suppress(TimeoutError):
        async with asyncio.timeout(CONNECT_S):
            while True:
                answer = await _connect_once(host, port)
                if answer is not Answer.NOTHING:
                    return answer
                # The system remembers for a while that a neighbour didn't answer, and refuses at once.
                await asyncio.sleep(AGAIN_S)
    return Answer.NOTHING


async def _connect_once(host: str, port: int) -> Answer:
    try:
        _, writer = await asyncio.open_connection(host, port)
    except ConnectionRefusedError:
        return Answer.REFUSES
    except OSError:
        return Answer.NOTHING
    writer.close()
    return Answer.ANSWERS


async def _is_there(gateway: str, before: dict[str, str]) -> bool | None:
    """Tell whether the gateway is there; None where none is known or only an old entry speaks for it."""
    if not gateway:
        return None
    answers = await asyncio.gather(*(_connect(gateway, port) for port in GATEWAY_PORTS))
    if any(answer is not Answer.NOTHING for answer in answers):
        return True
    if gateway not in neighbours():
        return False
    return None if gateway in before else True


def _gateway_of(names: frozenset[str], by_interface: dict[str, str]) -> str:
    return next((address for name, address in by_interface.items() if name in names), "")


def _address_of(url: str) -> tuple[str, str, int] | None:
    """Return URL, address and port; None where it holds no address."""
    try:
        parts = urlsplit(url)
        host = str(ipaddress.ip_address((parts.hostname or "").replace("%25", "%")))
        return url, host, parts.port or _PORTS[parts.scheme]
    except (ValueError, KeyError):
        return None


def _behind(host: str, up: Sequence[Interface]) -> str:
    """Return the interface in whose network an address lies, "" for none."""
    address = ipaddress.ip_address(host)
    if isinstance(address, ipaddress.IPv6Address) and address.scope_id:
        return next((each.name for each in up if each.name == address.scope_id), "")
    for each in up:
        if address in ipaddress.ip_network(each.network, strict=False):
            return each.name
    return ""

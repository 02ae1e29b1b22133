"""200 adverts on loopback: listed with addresses, against zeroconf's own browser hearing the names.

The library waits a random 20 to 120 ms before its first question (RFC 6762 §5.2), more than all the rest
takes. So both draw the same waits: each round is seeded with its number.
"""

import asyncio
import itertools
import random

import pytest
from zeroconf import IPVersion, ServiceStateChange
from zeroconf.asyncio import AsyncServiceBrowser, AsyncZeroconf

from fleet.cli.clocks import real_clock
from fleet.discovery.scanner import Scanner

ADDRESS = "127.9.2.1"
ADVERTS = 200
AT_MOST = 1.3
ROUNDS = 15

pytestmark = pytest.mark.benchmark(group="200 adverts listed")


def seeds():
    rounds = itertools.count()
    return lambda: random.seed(next(rounds))


async def names_alone():
    names, all_heard = set(), asyncio.Event()

    def heard(zeroconf, service_type, name, state_change):
        if state_change is ServiceStateChange.Added:
            names.add(name)
        if len(names) == ADVERTS:
            all_heard.set()

    zeroconf = AsyncZeroconf(interfaces=[ADDRESS], ip_version=IPVersion.V4Only)
    browser = AsyncServiceBrowser(zeroconf.zeroconf, "_wot._tcp.local.", handlers=[heard])
    async with asyncio.timeout(30):
        await all_heard.wait()
    await browser.async_cancel()
    await zeroconf.async_close()


async def listed():
    sighted, all_listed = {}, asyncio.Event()

    def take(sighting):
        sighted[sighting.name] = sighting.url
        if len(sighted) == ADVERTS:
            all_listed.set()

    scanner = Scanner(real_clock(), take, interface=ADDRESS)
    await scanner.open()
    async with asyncio.timeout(30):
        await all_listed.wait()
    await scanner.close()


def test_names_alone(benchmark, run, peer):
    assert peer("tests.bench.advertiser", ADDRESS, ADVERTS) == "ready"
    benchmark.pedantic(lambda: run(names_alone()), setup=seeds(), rounds=ROUNDS)


def test_listed_with_addresses(benchmark, run, peer):
    assert peer("tests.bench.advertiser", ADDRESS, ADVERTS) == "ready"
    benchmark.extra_info["at_most"] = AT_MOST
    benchmark.pedantic(lambda: run(listed()), setup=seeds(), rounds=ROUNDS)

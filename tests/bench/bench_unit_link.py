"""One unit's link against bare aiohttp: reading a property, and taking event streams in.

Streams: 20 of them with 100 reports a second each for a second, 2,000 reports/s, as a house of 20 units
at 100 Hz or of 200 at 10 Hz sends. What counts is the processor's time of this process, since both wait for
the sender anyway. The baseline reads the same bytes and does nothing with them.
"""

import asyncio
import time

import aiohttp
import pytest

from fleet.description.frames import ReportReader
from fleet.description.vocabulary import SETTINGS, TARGET_FRAME
from fleet.engine.files import schema
from fleet.link.links import Links

STREAMS, PER_STREAM, PERIOD_S = 20, 100, 0.01
READS = 300


@pytest.fixture
def unit(peer):
    return peer("tests.bench.sender", PERIOD_S, PER_STREAM)


async def read_bare(unit):
    async with aiohttp.ClientSession() as session:
        for _ in range(READS):
            async with session.get(f"{unit}/properties/settings") as response:
                await response.json()


async def opened(unit):
    links = Links(schema("td-1.1"))
    return links, await links.describe(f"{unit}/td")


async def read_properties(link):
    settings = link.need_property(SETTINGS)
    for _ in range(READS):
        await link.read(settings)


@pytest.mark.benchmark(group=f"{READS} property reads")
def test_reads_alone(benchmark, run, unit):
    benchmark.pedantic(lambda: run(read_bare(unit)), rounds=7, warmup_rounds=1)


@pytest.mark.benchmark(group=f"{READS} property reads")
def test_reads(benchmark, run, unit):
    links, link = run(opened(unit))
    benchmark.extra_info["at_most"] = 1.5
    benchmark.pedantic(lambda: run(read_properties(link)), rounds=7, warmup_rounds=1)
    run(links.close())


async def bytes_of(session, url):
    count = 0
    async with session.get(url, headers={"Accept": "text/event-stream"}) as response:
        while not response.content.at_eof():
            count += len(await response.content.readany())
    return count


async def take_bytes(unit):
    connector = aiohttp.TCPConnector(limit=0)
    async with aiohttp.ClientSession(connector=connector) as session:
        url = f"{unit}/properties/targets"
        return await asyncio.gather(*(bytes_of(session, url) for _ in range(STREAMS)))


async def reports_of(link):
    affordance = link.need_property(TARGET_FRAME)
    reader = ReportReader(affordance)
    reports = []
    async for arrivals in link.observe(affordance):
        reports += [reader.read(arrival.data) for arrival in arrivals]
    return reports


async def take_reports(link):
    return await asyncio.gather(*(reports_of(link) for _ in range(STREAMS)))


STREAM_GROUP = pytest.mark.benchmark(
    group=f"{STREAMS * PER_STREAM} reports a second, processor time", timer=time.process_time
)


@STREAM_GROUP
def test_bytes_alone(benchmark, run, unit):
    counts = benchmark.pedantic(lambda: run(take_bytes(unit)), rounds=7, warmup_rounds=1)
    assert len(set(counts)) == 1
    assert counts[0] > 0


@STREAM_GROUP
def test_reports(benchmark, run, unit):
    links, link = run(opened(unit))
    benchmark.extra_info["at_most"] = 2.0
    taken = benchmark.pedantic(lambda: run(take_reports(link)), rounds=7, warmup_rounds=1)
    run(links.close())
    assert [len(reports) for reports in taken] == [PER_STREAM] * STREAMS
    assert all(report.number == at for at, report in enumerate(taken[0]))

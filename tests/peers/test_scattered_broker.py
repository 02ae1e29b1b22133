"""A scattered unit behind a real broker: parts that come one by one, are lost, or stand in doubt.

The unit is of the shipped, invented profile `scattered-mqtt`; the broker is Debian's Mosquitto.
"""

import asyncio
import contextlib
import json
from contextlib import aclosing, asynccontextmanager
from datetime import UTC, datetime

import pytest

from fleet.description import vocabulary as pres
from fleet.description.filling import fill
from fleet.description.frames import ReportReader
from fleet.description.matching import Announcement, base_url, gather
from fleet.description.profiles import read_profile
from fleet.link.assembled import PartialWriteError
from fleet.link.links import Links
from fleet.link.mqtt import Brokers
from fleet.link.mqtt_limits import BrokerLimits
from fleet.model.errors import LinkError
from fleet.model.units import Sighting
from fleet.shipped import resources
from tests.peers import mosquitto
from tests.peers.broker_client import BrokerClient
from tests.peers.serving import CLOCK
from tests.unit.description.samples import td_schema

PROFILE = read_profile(
    (resources() / "profiles" / "scattered-mqtt.json").read_bytes(), "scattered-mqtt.json"
)
READINGS = {"right1": -50, "away1": 210, "pace1": 15, "bodies": 1}
SETTINGS = {"reach": 500, "linger": 30, "keenness": "mid", "lamp": "off"}
FIRST = {"patch1left": -100, "patch1right": 100, "patch1near": 50, "patch1far": 300}
SECOND = {"patch2left": 0, "patch2right": 0, "patch2near": 0, "patch2far": 0}
HERE = json.dumps({"board": "A", "head": "T", "release": "2.1"})


class ScatteredUnit:
    """A unit of which every value is a message of its own.

    Attributes:
        values: what it holds.
        told: what was written to it, in order.
        deaf_to: values that it doesn't take, without a word.
    """

    def __init__(self, serial):
        self.root = f"wd/bits/{serial}"
        self.values = {**READINGS, **SETTINGS, **FIRST, **SECOND}
        self.told = []
        self.deaf_to = set()

    async def run(self, port, ready):
        async with BrokerClient("127.0.0.1", port) as client:
            await client.subscribe(f"{self.root}/be/+", qos=1)
            for name in self.values:
                await self.say(client, name)
            await client.publish(f"{self.root}/here", HERE, qos=1, retain=True)
            ready.set()
            async with asyncio.TaskGroup() as group:
                group.create_task(self.obey(client))
                group.create_task(self.tell(client))

    async def say(self, client, name):
        value = json.dumps(self.values[name])
        await client.publish(f"{self.root}/is/{name}", value, qos=1, retain=True)

    async def obey(self, client):
        async for message in client.messages:
            name = str(message.topic).rpartition("/")[2]
            self.told.append(name)
            if name not in self.deaf_to:
                self.values[name] = json.loads(message.payload)
                await self.say(client, name)

    async def tell(self, client):
        while True:
            for name in READINGS:
                await self.say(client, name)
                await asyncio.sleep(0.01)  # one reading at a time, at the unit's own pace


async def ended(running):
    running.cancel()
    await asyncio.gather(running, return_exceptions=True)


@asynccontextmanager
async def living(unit, broker):
    ready = asyncio.Event()
    running = asyncio.ensure_future(unit.run(broker.port, ready))
    await ready.wait()
    try:
        yield running
    finally:
        await ended(running)


@asynccontextmanager
async def met(tmp_path, limits=None):
    """Meet a unit by what it announced."""
    with mosquitto.running(tmp_path) as broker:
        unit = ScatteredUnit("N-4")
        brokers = Brokers(limits=limits)
        links = Links(td_schema(), CLOCK, brokers=brokers)
        try:
            async with living(unit, broker) as running:
                announced = brokers.announcements(broker.url, PROFILE.match.announcement)
                async with aclosing(announced) as coming:
                    announcement = Announcement(*await anext(coming))
                heard = Sighting(announcement.topic, broker.url, datetime(2026, 1, 2, tzinfo=UTC))
                made = fill(PROFILE, gather(PROFILE, heard, {}, announcement))
                link = await links.describe_as(made, base_url(PROFILE, heard))
                yield unit, link, broker, running
        finally:
            await links.close()
            await brokers.close()


async def moved(link):
    """Return the areas' property and a value that moves the first area to the right."""
    areas = link.need_property(pres.AREA_SET)
    value = (await link.read(areas)).value
    value["areas"][0] |= {"left": 150, "right": 300}
    return areas, value


async def test_readings_that_come_one_by_one_become_reports_with_the_age_of_each_part(tmp_path):
    async with met(tmp_path) as (_, link, _, _):
        frame = link.need_property(pres.TARGET_FRAME)
        async with aclosing(link.observe(frame)) as arriving:
            while True:
                arrival = (await anext(arriving))[-1]
                report = ReportReader(frame).read(arrival.data)
                if report.targets:
                    break
    assert (report.targets[0].x_mm, report.targets[0].y_mm) == (-500, 2100)
    assert report.number is None  # so nothing is said about loss
    assert set(arrival.part_ages_s) >= {"right1", "away1"}


async def test_what_a_broker_kept_of_a_unit_that_is_gone_makes_no_report(tmp_path):
    async with met(tmp_path) as (_, link, broker, running):
        await ended(running)
        frame = link.need_property(pres.TARGET_FRAME)
        async with aclosing(link.observe(frame)) as arriving:
            coming = asyncio.ensure_future(anext(arriving))
            await asyncio.to_thread(broker.wait_for, r"is/bodies', ")
            done, _ = await asyncio.wait({coming}, timeout=0.5)
            assert not done
            coming.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await coming


async def test_an_area_is_written_edge_by_edge_and_never_stands_inside_out(tmp_path):
    async with met(tmp_path) as (unit, link, _, _):
        areas, value = await moved(link)
        await link.write(areas, value, None)
        assert unit.told == ["patch1right", "patch1left"]
        assert (await link.read(areas)).value == value


async def test_an_edge_that_the_unit_does_not_take_leaves_a_partial_write_that_is_known(tmp_path):
    async with met(tmp_path) as (unit, link, _, _):
        areas, value = await moved(link)
        unit.deaf_to = {"patch1left"}
        with pytest.raises(PartialWriteError) as told:
            await link.write(areas, value, None)
        assert (told.value.written, told.value.unwritten) == (("patch1right",), ("patch1left",))
        unit.deaf_to = set()
        await link.write(areas, value, None)  # goes on with what is missing
        assert unit.told == ["patch1right", "patch1left", "patch1left"]


async def test_a_broker_that_goes_away_in_the_middle_leaves_the_rest_in_doubt(tmp_path):
    limits = BrokerLimits(value_s=0.2, answer_s=0.5, first_pause_s=0.01, longest_pause_s=0.02)
    async with met(tmp_path, limits) as (unit, link, broker, _):
        areas, value = await moved(link)
        unit.deaf_to = {"patch1right"}
        writing = asyncio.ensure_future(link.write(areas, value, None))
        await asyncio.to_thread(broker.wait_for, r"Received PUBLISH .*be/patch1right")
        await asyncio.to_thread(broker.stop)
        with pytest.raises(PartialWriteError) as told:
            await writing
        assert isinstance(told.value, LinkError)
        assert told.value.doubtful == ("patch1right",)
        assert told.value.unwritten == ("patch1left",)
        await asyncio.to_thread(broker.start)


async def test_the_values_that_make_no_part_are_read_as_well(tmp_path):
    async with met(tmp_path) as (_, link, _, _):
        settings = await link.read(link.need_property(pres.SETTINGS))
    assert settings.value == SETTINGS

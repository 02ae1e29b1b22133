"""The shipped profile of the scattered kind at a broker: Debian's Mosquitto, and a small unit."""

import asyncio
import json
from contextlib import aclosing, asynccontextmanager
from datetime import UTC, datetime

import pytest

from fleet.description import vocabulary as pres
from fleet.description.filling import fill
from fleet.description.frames import ReportReader
from fleet.description.matching import Announcement, announces, base_url, gather
from fleet.description.profiles import read_profile
from fleet.engine.reading import read_unit
from fleet.link.links import Links
from fleet.link.mqtt import Brokers
from fleet.model.errors import PlanError
from fleet.model.sheets import areas_of
from fleet.model.units import Sighting
from fleet.shipped import resources
from tests.peers import mosquitto
from tests.peers.broker_client import BrokerClient
from tests.peers.serving import CLOCK
from tests.unit.description.samples import td_schema

PROFILE = read_profile(
    (resources() / "profiles" / "scattered-mqtt.json").read_bytes(), "scattered-mqtt.json"
)
ROOT = "wd/bits/K 7"
PATIENCE_S = 30.0
HERE = {"board": "A", "head": "T", "release": "2.1"}
VALUES = {
    "bodies": 1,
    "right1": -50,
    "away1": 210,
    "pace1": 15,
    "right2": 0,
    "away2": 0,
    "pace2": 0,
    "light": 12,
    "reach": 500,
    "linger": 30,
    "keenness": "mid",
    "lamp": "off",
    "patch1left": -100,
    "patch1right": 100,
    "patch1near": 50,
    "patch1far": 300,
    "patch2left": 0,
    "patch2right": 0,
    "patch2near": 0,
    "patch2far": 0,
}


class ScatteredUnit:
    """A unit that keeps each of its values at the broker, and takes each by itself.

    Attributes:
        told: names and values that it was told, in order.
    """

    def __init__(self, client):
        self.told = []
        self._client = client
        self._values = dict(VALUES)

    async def say(self, *names):
        for name in names:
            payload = json.dumps(self._values[name])
            await self._client.publish(f"{ROOT}/is/{name}", payload, qos=1, retain=True)

    async def obey(self):
        async for message in self._client.messages:
            name = str(message.topic).rpartition("/")[2]
            self._values[name] = json.loads(message.payload)
            self.told.append((name, self._values[name]))
            await self.say(name)


@asynccontextmanager
async def scattered_unit(broker):
    """Run the unit until the end of the block."""
    async with BrokerClient("127.0.0.1", broker.port) as client:
        unit = ScatteredUnit(client)
        await unit.say(*VALUES)
        await client.subscribe(f"{ROOT}/be/+", qos=1)
        await client.publish(f"{ROOT}/here", json.dumps(HERE), qos=1, retain=True)
        obeying = asyncio.create_task(unit.obey())
        try:
            yield unit
        finally:
            obeying.cancel()
            await asyncio.gather(obeying, return_exceptions=True)


@asynccontextmanager
async def met(tmp_path):
    """Meet the unit as it announces itself."""
    with mosquitto.running(tmp_path) as broker:
        brokers = Brokers()
        links = Links(td_schema(), CLOCK, brokers=brokers)
        try:
            async with asyncio.timeout(PATIENCE_S), scattered_unit(broker) as unit:
                announced = brokers.announcements(broker.url, PROFILE.match.announcement)
                async with aclosing(announced) as coming:
                    topic, payload = await anext(coming)
                assert announces(PROFILE, topic)
                heard = Sighting(topic, broker.url, datetime(2026, 1, 2, tzinfo=UTC))
                said = gather(PROFILE, heard, {}, Announcement(topic, payload))
                link = await links.describe_as(fill(PROFILE, said), base_url(PROFILE, heard))
                assert link.thing.complaints == ()
                yield unit, link
        finally:
            await links.close()
            await brokers.close()


async def first(arriving, unit):
    """Let the unit see somebody again and again until it is reported."""
    coming = asyncio.ensure_future(anext(arriving))
    while not coming.done():
        await unit.say("bodies", "right1", "away1", "pace1")
        await asyncio.wait({coming}, timeout=0.05)
    return (await coming)[-1]


async def test_a_unit_behind_a_broker_is_met_read_and_watched(tmp_path):
    async with met(tmp_path) as (unit, link):
        reading = await read_unit(link, link.thing.url, CLOCK)
        assert (reading.serial, reading.sheet["build.version"]) == ("K 7", "2.1")
        assert reading.sheet["setting.hold_time_s"] == 30
        assert reading.sheet["setting.sensitivity_percent"] == 50
        assert len(areas_of(reading.sheet)) == 1
        frame = link.need_property(pres.TARGET_FRAME)
        assert link.way_of(frame) == "MQTT"
        async with aclosing(link.observe(frame)) as arriving:
            arrival = await first(arriving, unit)
        report = ReportReader(frame).read(arrival.data)
        assert (report.targets[0].x_mm, report.targets[0].y_mm) == (-500, 2100)
        assert report.number is None


async def test_a_unit_behind_a_broker_is_written_edge_by_edge_and_bad_values_never_reach_it(
    tmp_path,
):
    async with met(tmp_path) as (unit, link):
        areas = link.need_property(pres.AREA_SET)
        held = (await link.read(areas)).value
        held["areas"][0] |= {"left": 120, "right": 250}
        await link.write(areas, held, None)
        assert unit.told == [("patch1right", 250), ("patch1left", 120)]
        settings = link.need_property(pres.SETTINGS)
        wishes = (await link.read(settings)).value
        with pytest.raises(PlanError):
            await link.write(settings, {**wishes, "reach": 605}, None)
        await link.write(settings, {**wishes, "lamp": "on"}, None)
        assert unit.told[2:] == [("lamp", "on")]

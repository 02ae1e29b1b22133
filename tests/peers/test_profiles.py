"""The shipped profiles against small servers of their kinds: met, read, watched, written, refused."""

import json
from contextlib import aclosing, asynccontextmanager
from datetime import UTC, datetime

import pytest

from fleet.description import vocabulary as pres
from fleet.description.filling import fill
from fleet.description.frames import ReportReader
from fleet.description.matching import base_url, gather, matches, needed
from fleet.engine.profile_files import load_profiles
from fleet.engine.reading import read_unit
from fleet.link.links import Links
from fleet.model.errors import PlanError
from fleet.model.sheets import areas_of
from fleet.model.units import Sighting
from fleet.shipped import resources
from tests.peers.profile_servers import (
    framing_unit,
    polled_unit,
    scattered_unit,
    serving,
    streaming_unit,
)
from tests.peers.serving import CLOCK
from tests.unit.description.samples import td_schema

PROFILES = {profile.name: profile for profile in load_profiles([resources() / "profiles"]).profiles}
ADVERTS = {
    "json-polling": ("_wd-poll._tcp", {"speaks": "2", "plate": "P 1-7"}),
    "range-angle-stream": ("_wd-polar._tcp", {}),
    "socket-frames": (
        "_wd-frames._tcp",
        {"frames": "json", "plate": "F-9", "board": "B", "head": "T"},
    ),
    "scattered-polling": ("_wd-bits._tcp", {}),
}


def sighting(name, port):
    service_type, txt = ADVERTS[name]
    heard_at = datetime(2026, 1, 2, tzinfo=UTC)
    url = f"http://127.0.0.1:{port}/"
    return Sighting(f"Unit of {name}", url, heard_at, service_type=service_type, txt=txt)


@asynccontextmanager
async def met(name, kind):
    """Meet a unit as its advert is heard: by its profile alone."""
    async with serving(kind) as unit:
        links = Links(td_schema(), CLOCK)
        try:
            heard = sighting(name, unit.port)
            profile = next(known for known in PROFILES.values() if matches(known, heard))
            assert profile.name == name
            origin = base_url(profile, heard)
            answers = {
                path: json.loads(await links.fetch(origin.rstrip("/") + path))
                for path in needed(profile)
            }
            raw = fill(profile, gather(profile, heard, answers))
            link = await links.describe_as(raw, origin)
            assert link.thing.complaints == ()
            yield unit, link
        finally:
            await links.close()


async def reports(link, number):
    """Return the first reports that come."""
    frame = link.need_property(pres.TARGET_FRAME)
    reader, found = ReportReader(frame), []
    async with aclosing(link.observe(frame)) as arriving:
        async for arrivals in arriving:
            found += [reader.read(arrival.data) for arrival in arrivals]
            if len(found) >= number:
                return found[:number]
    pytest.fail("the unit ended its stream")


async def write_setting(link, change):
    """Change a member of the settings as it stands in the unit."""
    settings = link.need_property(pres.SETTINGS)
    held = await link.read(settings)
    await link.write(settings, {**held.value, **change}, held.etag)


async def test_a_unit_that_answers_json_is_met_read_and_polled():
    async with met("json-polling", polled_unit()) as (_, link):
        reading = await read_unit(link, link.thing.url, CLOCK)
        assert reading.serial == "P 1-7"
        assert reading.sheet["build.version"] == "1.2.0"
        assert reading.sheet["setting.max_distance_mm"] == 5000
        assert reading.capabilities["max_areas"] == 4
        assert link.way_of(link.need_property(pres.TARGET_FRAME)) == "polled"
        first, second = await reports(link, 2)
        # Reading took the report before the first one that was watched.
        assert second.number == first.number + 1
        assert (first.targets[0].x_mm, first.targets[0].speed_mm_s) == (-120, 300)


async def test_a_unit_that_answers_json_is_written_and_bad_values_never_reach_it():
    async with met("json-polling", polled_unit()) as (unit, link):
        await write_setting(link, {"linger": 45})
        assert unit.values["/wishes"]["linger"] == 45
        assert unit.changing == [("POST", "/wishes")]
        # Its reach came from the unit itself: the profile's placeholder is a bound of the schema.
        with pytest.raises(PlanError, match="max distance 6001 mm is above the unit's 6000 mm"):
            await write_setting(link, {"reach": 6001})
        await link.invoke(link.need_action(pres.IDENTIFY), {"seconds": 5})
        assert unit.changing == [("POST", "/wishes"), ("POST", "/blink")]


async def test_ranges_and_angles_of_an_event_stream_become_places():
    async with met("range-angle-stream", streaming_unit()) as (_, link):
        assert link.way_of(link.need_property(pres.TARGET_FRAME)) == "event stream"
        found = await reports(link, 3)
        assert [report.number for report in found] == [0, 1, 2]
        assert [len(report.targets) for report in found] == [0, 1, 2]
        target = found[1].targets[0]
        # 2 m at 30° to the right: x = 2000 · sin 30°, y = 2000 · cos 30°.
        assert (target.x_mm, target.y_mm, target.speed_mm_s) == (1000, 1732, -500)
        reading = await read_unit(link, link.thing.url, CLOCK)
        assert (reading.serial, reading.sheet["setting.max_distance_mm"]) == ("S-8", 5000)
        assert reading.sheet["setting.hold_time_s"] == 90
        assert reading.sheet["setting.sensitivity_percent"] == 50


async def test_a_unit_of_words_and_centimetres_is_written_in_its_own():
    async with met("range-angle-stream", streaming_unit()) as (unit, link):
        await write_setting(link, {"farthest": 450, "keenness": "keen"})
        assert unit.values["/knobs"] == {"farthest": 450, "linger": 1.5, "keenness": "keen"}
        with pytest.raises(PlanError, match="none of the unit's soft, even, keen"):
            await write_setting(link, {"keenness": "fierce"})
        with pytest.raises(PlanError, match="isn't a step of the unit's 5 cm"):
            await write_setting(link, {"farthest": 452})
        assert unit.changing == [("PUT", "/knobs")]


async def test_frames_of_a_web_socket_are_watched_and_its_serial_comes_from_the_advert():
    async with met("socket-frames", framing_unit()) as (unit, link):
        assert link.way_of(link.need_property(pres.TARGET_FRAME)) == "WebSocket"
        found = await reports(link, 3)
        assert [report.number for report in found] == [0, 1, 2]
        target = found[2].targets[1]
        assert (target.x_mm, target.y_mm, target.speed_mm_s) == (-500, 2250, 300)
        reading = await read_unit(link, link.thing.url, CLOCK)
        assert (reading.serial, reading.sheet["hardware.revision"]) == ("F-9", "B")
        assert reading.sheet["setting.indicator_light"] is True
        await write_setting(link, {"lamp": "dark"})
        with pytest.raises(PlanError, match="above the unit's 9 m"):
            await write_setting(link, {"reach": 9.5})
        assert unit.changing == [("PUT", "/tuning")]


async def test_a_scattered_unit_is_read_as_if_it_were_whole():
    async with met("scattered-polling", scattered_unit()) as (_, link):
        reading = await read_unit(link, link.thing.url, CLOCK)
        assert (reading.serial, reading.sheet["build.version"]) == ("B-3", "2.1")
        assert reading.sheet["setting.max_distance_mm"] == 5000
        assert reading.sheet["setting.sensitivity_percent"] == 50
        assert reading.sheet["setting.indicator_light"] is False
        [area] = areas_of(reading.sheet)
        assert {*area.outline_mm} == {(-1000, 500), (1000, 500), (1000, 3000), (-1000, 3000)}
        assert "12 lux" in reading.other["light"]


async def test_scattered_readings_become_reports_of_known_age():
    async with met("scattered-polling", scattered_unit()) as (_, link):
        frame = link.need_property(pres.TARGET_FRAME)
        assert link.way_of(frame) == "polled"
        async with aclosing(link.observe(frame)) as arriving:
            arrival = (await anext(arriving))[-1]
        report = ReportReader(frame).read(arrival.data)
        assert report.number is None
        assert (report.targets[0].x_mm, report.targets[0].y_mm) == (-500, 2100)
        assert all(age_s >= 0 for age_s in arrival.part_ages_s.values())


async def test_an_area_of_a_scattered_unit_is_written_edge_by_edge_and_words_in_its_own():
    async with met("scattered-polling", scattered_unit()) as (unit, link):
        areas = link.need_property(pres.AREA_SET)
        held = (await link.read(areas)).value
        held["areas"][0] |= {"left": 120, "right": 250}
        await link.write(areas, held, None)
        # The right edge has to go first: a left edge beyond it would make no rectangle.
        assert unit.changing == [("PUT", "/bit/patch1right"), ("PUT", "/bit/patch1left")]
        assert unit.values["/bit/patch1left"] == 120
        with pytest.raises(PlanError):
            await write_setting(link, {"keenness": "fierce"})
        await write_setting(link, {"keenness": "high"})
        assert unit.changing[2:] == [("PUT", "/bit/keenness")]

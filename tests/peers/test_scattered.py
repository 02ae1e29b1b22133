"""A unit of the scattered kind, by its shipped profile: read, watched, written, cut off in the middle."""

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import aclosing, asynccontextmanager
from pathlib import Path

import pytest

from fleet.description.filling import fill
from fleet.description.frames import ReportReader
from fleet.description.profiles import read_profile
from fleet.description.vocabulary import AREA_SET, IDENTITY, SETTINGS, TARGET_FRAME
from fleet.engine.area_values import area_set_value, areas_from
from fleet.engine.setting_values import settings_items, settings_value
from fleet.jobs.areas import rectangle
from fleet.link.assembled import PartialWriteError, write_assembled
from fleet.link.limits import Limits
from fleet.link.links import Links
from fleet.link.unit_link import UnitLink
from fleet.model.errors import LinkError, PlanError
from fleet.model.reports import Target
from fleet.model.sheets import Area, AreaKind
from tests.peers.scattered_server import PLATE, Fault, Unit, irregular, served
from tests.peers.serving import CLOCK
from tests.unit.description.samples import td_schema

PROFILE = Path(__file__).parents[2] / "resources" / "profiles" / "scattered-polling.json"
QUICK = (0.0, 0.01, 0.02, 0.03)
LEFT = Area("1", "1", AreaKind.WATCH, rectangle((-1000, 500), (1000, 3000)))
MOVED = Area("1", "1", AreaKind.WATCH, rectangle((1500, 3500), (2500, 4500)))
SECOND = Area("2", "2", AreaKind.WATCH, rectangle((-2000, 1000), (-500, 2000)))


@asynccontextmanager
async def linked(unit: Unit) -> AsyncIterator[UnitLink]:
    """Serve a unit and link to it by its profile; it is asked each 100 ms instead of each 500."""
    raw = PROFILE.read_bytes().replace(b'"pres:pollEvery": 500', b'"pres:pollEvery": 100')
    async with asyncio.timeout(20), served(unit) as origin:
        host, port = origin.removeprefix("http://").split(":")
        profile = read_profile(raw, PROFILE.name)
        filled = fill(profile, {"HOST": host, "PORT": int(port), "SERIAL": PLATE})
        links = Links(td_schema(), CLOCK, limits=Limits(connect_s=1, silence_s=1, whole_s=2))
        try:
            yield await links.describe_as(filled, origin)
        finally:
            await links.close()


def areas(link: UnitLink, value: object) -> tuple[Area, ...]:
    return areas_from(link.need_property(AREA_SET).schema, value)


async def write_areas(link: UnitLink, *wanted: Area) -> None:
    places = link.need_property(AREA_SET)
    value = area_set_value(places.schema, (await link.read(places)).value, wanted)
    await write_assembled(link, places, value, QUICK)


async def test_the_whole_unit_is_read_and_its_description_is_sound():
    async with linked(Unit()) as link:
        assert link.thing.complaints == ()
        identity = await link.read(link.need_property(IDENTITY))
        settings = link.need_property(SETTINGS)
        items = settings_items(settings, (await link.read(settings)).value)
        found = areas(link, (await link.read(link.need_property(AREA_SET))).value)
    assert identity.value == {"plate": PLATE, "board": "r2", "head": "tracking"}
    assert items == {
        "setting.max_distance_mm": 4500,
        "setting.hold_time_s": 30,
        "setting.sensitivity_percent": 50,
        "setting.indicator_light": True,
    }
    assert found == (LEFT,)


async def test_readings_that_come_one_at_a_time_are_watched_as_reports_with_ages():
    unit = Unit(pauses_s=irregular((0.0, 0.02, 0.005)))
    unit.schedule("bodies", 0, 1, 1, 1, 0)
    unit.schedule("right1", 0, -50, -60, -70)
    unit.schedule("away1", 0, 210, 220, 230)
    seen: list[tuple[Target, ...]] = []
    ages = []
    async with linked(unit) as link:
        frame = link.need_property(TARGET_FRAME)
        reader = ReportReader(frame)
        assert link.way_of(frame) == "polled"
        async with aclosing(link.observe(frame)) as stream:
            async for arrivals in stream:
                seen += [reader.read(arrival.data).targets for arrival in arrivals]
                ages += [arrival.part_ages_s for arrival in arrivals]
                if () in seen[1:] and any(seen):
                    break
    places = [target for targets in seen for target in targets]
    assert {target.x_mm for target in places} <= {0, -500, -600, -700}
    assert {target.y_mm for target in places} <= {0, 2100, 2200, 2300}
    assert places
    assert seen[-1] == ()
    assert all(reader.read(json.dumps({"targets": []})).number is None for _ in seen)
    assert all(0 <= age_s < 5 for parts in ages for age_s in parts.values())


async def test_only_settings_that_differ_are_written_and_words_go_back_as_words():
    unit = Unit()
    async with linked(unit) as link:
        settings = link.need_property(SETTINGS)
        current = (await link.read(settings)).value
        wanted = {"setting.max_distance_mm": 5000, "setting.sensitivity_percent": 80}
        await link.write(settings, settings_value(settings, current, wanted), None)
        with pytest.raises(PlanError, match="no word for sensitivity 70"):
            settings_value(settings, current, {"setting.sensitivity_percent": 70})
    assert unit.writes == [("reach", 500), ("keenness", "high")]


async def test_bad_values_are_refused_before_anything_is_sent():
    unit = Unit()
    async with linked(unit) as link:
        settings = link.need_property(SETTINGS)
        current = (await link.read(settings)).value
        far = settings_value(settings, current, {"setting.max_distance_mm": 9000})
        with pytest.raises(PlanError, match="max distance 900 cm is above the unit's 600 cm"):
            await link.write(settings, far, None)
        with pytest.raises(PlanError, match="above the unit's 400 cm"):
            await write_areas(link, Area("1", "1", AreaKind.WATCH, rectangle((0, 0), (9000, 900))))
        with pytest.raises(PlanError, match="no place"):
            await write_areas(link, Area("3", "3", AreaKind.WATCH, LEFT.outline_mm))
    assert unit.writes == []


async def test_an_area_moves_comes_and_goes_and_the_unit_never_holds_a_wrong_one():
    unit = Unit()
    async with linked(unit) as link:
        for wanted in ((MOVED,), (LEFT, SECOND), (SECOND,), (), (MOVED, SECOND)):
            await write_areas(link, *wanted)
            assert areas(link, (await link.read(link.need_property(AREA_SET))).value) == wanted
    assert len(unit.patches) == len(unit.writes) == 4 + 8 + 4 + 4 + 8


async def test_a_value_that_is_said_late_is_waited_for():
    unit = Unit(faults={"patch1left": Fault.LATE})
    async with linked(unit) as link:
        await write_areas(link, MOVED)
    assert unit.values["patch1left"] == 150


@pytest.mark.parametrize("edge", ["left", "right", "near", "far"])
@pytest.mark.parametrize("fault", [Fault.LOST, Fault.REFUSED, Fault.RESET, Fault.DEAD])
async def test_a_write_cut_off_at_any_edge_is_known_and_resumed(fault, edge):
    unit = Unit(faults={f"patch1{edge}": fault})
    async with linked(unit) as link:
        with pytest.raises(PartialWriteError) as caught:
            await write_areas(link, MOVED)
        error, sent = caught.value, [name for name, _ in unit.writes]
        assert sent[-1] == f"patch1{edge}"
        assert error.written == tuple(sent[:-1])
        assert error.doubtful == ((sent[-1],) if fault is Fault.DEAD else ())
        assert len(error.written + error.unwritten + error.doubtful) == 4
        before, after = (
            {"left": -100, "right": 100, "near": 50, "far": 300},
            {"left": 150, "right": 250, "near": 350, "far": 450},
        )
        standing = {name: unit.values[f"patch1{name}"] for name in before}
        assert standing == {
            name: after[name] if f"patch1{name}" in error.written else before[name]
            for name in before
        }
        if fault is Fault.DEAD:
            with pytest.raises(LinkError):
                await write_areas(link, MOVED)
        unit.faults.clear()
        unit.dead = False
        unit.writes.clear()
        await write_areas(link, MOVED)
        assert [name for name, _ in unit.writes] == [*error.doubtful, *error.unwritten]
        assert areas(link, (await link.read(link.need_property(AREA_SET))).value) == (MOVED,)


async def test_a_write_that_broke_off_after_it_was_done_counts_as_done():
    unit = Unit(faults={"patch1near": Fault.RESET_AFTER})
    async with linked(unit) as link:
        await write_areas(link, MOVED)
    assert [name for name, _ in unit.writes].count("patch1near") == 1


async def test_a_unit_that_dies_ends_the_watch_and_leaves_nothing_open():
    unit = Unit(values={**Unit().values, "bodies": 1, "right1": -50, "away1": 210})
    async with linked(unit) as link:
        frame = link.need_property(TARGET_FRAME)
        async with aclosing(link.observe(frame)) as stream:
            assert await anext(stream)
            unit.dead = True
            with pytest.raises(LinkError):
                assert [arrivals async for arrivals in stream]

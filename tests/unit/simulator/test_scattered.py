"""A unit that takes each setting and each edge of an area by itself."""

import json
from dataclasses import replace

import aiohttp
import pytest

from fleet.model.sheets import Area, AreaKind
from fleet.simulator import names
from fleet.simulator.scattered import areas_of, places_of
from fleet.simulator.truth import Truth, WriteFault
from tests.unit.simulator.firmware_images import bench
from tests.unit.simulator.small_house import DESK, STATIC, TRACKING, at, running, until

SCATTERED = replace(TRACKING, scattered=True)
TUNING, AREAS = f"/values/{names.TUNING}", f"/values/{names.FLOOR_AREAS}"
HOLD = "/values/tune_hold"
DESK_PLACE = {"left": -500, "right": 500, "near": 1000, "far": 2000, "purpose": "watch"}
NO_PLACE = {"left": 0, "right": 0, "near": 0, "far": 0, "purpose": "watch"}


async def get(session, place, path):
    async with session.get(at(place, path)) as answer:
        return await answer.json(content_type=None)


async def put(session, place, path, value):
    async with session.put(at(place, path), json=value) as answer:
        return answer.status


async def test_a_single_setting_is_written_without_a_tag_and_stands_in_the_whole():
    async with running(Truth((SCATTERED,))) as (place, session):
        before = await get(session, place, TUNING)
        assert await put(session, place, HOLD, 90) == 204
        assert await get(session, place, HOLD) == 90
        assert await get(session, place, TUNING) == {**before, "hold": 90}


async def test_a_single_value_keeps_its_bounds_and_the_whole_cannot_be_written():
    async with running(Truth((SCATTERED,))) as (place, session):
        assert await put(session, place, HOLD, 9000) == 422
        assert await put(session, place, HOLD, {"hold": 90}) == 422
        assert await put(session, place, TUNING, {"hold": 90}) == 405
        assert await put(session, place, HOLD, 60.0) == 204
        assert await get(session, place, HOLD) == 60


async def test_areas_are_places_of_four_edges_and_a_purpose():
    async with running(Truth((SCATTERED,))) as (place, session):
        unit = place.world.units[0][1]
        assert (await get(session, place, AREAS))["areas"] == [DESK_PLACE] + [NO_PLACE] * 4
        for edge, value in {"left": -100, "right": 300, "near": 500, "far": 900}.items():
            assert unit.areas[1:] == ()
            assert await put(session, place, f"/values/place2_{edge}", value) == 204
        assert await put(session, place, "/values/place2_purpose", "ignore") == 204
        corners = ((-100, 500), (300, 500), (300, 900), (-100, 900))
        assert unit.areas[1] == Area("2", "Area 2", AreaKind.IGNORE, corners)
        assert set(unit.occupancy.each) == {"1", "2"}


async def test_a_lost_write_is_answered_like_any_other_and_is_the_only_one():
    async with running(Truth((replace(SCATTERED, write_fault=WriteFault.LOST),))) as running_house:
        place, session = running_house
        for value in (11, 12, 13):
            assert await put(session, place, HOLD, value) == 204
            kept = await get(session, place, HOLD)
            assert kept == {11: 11, 12: 11, 13: 13}[value]


async def test_a_reset_in_between_leaves_what_was_written_and_the_unit_comes_back():
    truth = Truth((replace(SCATTERED, write_fault=WriteFault.RESET),))
    async with running(truth) as (place, session):
        unit = place.world.units[0][1]
        for value in (11, 12):
            assert await put(session, place, HOLD, value) == 204
        with pytest.raises(aiohttp.ClientError):
            await put(session, place, HOLD, 13)
        await until(lambda: unit.boots == 2 and not unit.down)
        assert await get(session, place, HOLD) == 12
        assert await put(session, place, HOLD, 13) == 204


def test_a_module_without_areas_has_single_settings_alone():
    with bench(scattered=True, module_type=STATIC.module_type, areas=()) as made:
        assert json.loads(made.unit.text_of("tune_hold")) == 5
        with pytest.raises(KeyError):
            made.unit.text_of("place1_left")


def test_areas_come_back_from_their_places_and_crossed_edges_are_none():
    figures = bench_figures()
    places = places_of((DESK,), figures)
    assert areas_of(places) == (replace(DESK, label="Area 1"),)
    places[0]["right"] = -500
    assert areas_of(places) == ()


def bench_figures():
    with bench() as made:
        return made.unit.figures


def test_an_area_that_is_no_upright_rectangle_has_no_place():
    slanted = replace(DESK, outline_mm=((0, 0), (500, 100), (500, 900), (0, 800)))
    with pytest.raises(ValueError, match="no upright rectangle"):
        places_of((slanted,), bench_figures())


def test_a_wiped_scattered_unit_holds_no_areas():
    with bench(scattered=True) as made:
        made.unit.wipe(keep_network=True)
        made.tick(50)
        assert json.loads(made.unit.text_of(names.FLOOR_AREAS))["areas"] == [NO_PLACE] * 5

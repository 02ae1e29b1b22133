"""The stage port over a real connection, and its client."""

import asyncio
import json

import pytest

from fleet.model.errors import LinkError, PlanError
from fleet.simulator.stage_client import StageClient
from tests.unit.simulator.small_house import running


def on_stage(check):
    async def run():
        async with (
            running() as (place, _),
            StageClient(place.stage_host, place.stage_port) as stage,
        ):
            await check(place, stage)

    asyncio.run(run())


def seconds(times) -> float:
    return (times.done - times.started).total_seconds()


def test_a_walk_takes_its_time_and_ends_at_the_last_point():
    async def check(place, stage):
        # 2400 mm at 1200 mm/s and 1 s of waiting.
        times = await stage.walk("a", "ground", [((1000, 1000), 0), ((3400, 1000), 1.0)])
        assert seconds(times) == pytest.approx(3.0, abs=0.11)
        assert place.world.people["a"].place_at(place.world.tick) == (3400, 1000)

    on_stage(check)


def test_the_next_walk_begins_where_the_person_is():
    async def check(_, stage):
        assert seconds(await stage.walk("a", "ground", [((1000, 1000), 0)])) == 0
        times = await stage.walk("a", "ground", [((2200, 1000), 0)])
        assert seconds(times) == pytest.approx(1.0, abs=0.11)
        assert seconds(await stage.walk("a", "first", [((9000, 9000), 0)])) == 0

    on_stage(check)


def test_somebody_sits_waits_and_leaves():
    async def check(place, stage):
        await stage.walk("a", "ground", [((1000, 1000), 0)])
        assert seconds(await stage.sit("a", seconds=2.0)) == pytest.approx(2.0, abs=0.11)
        assert place.world.people["a"].sits
        await stage.leave("a")
        assert place.world.people == {}

    on_stage(check)


def test_doors_open_and_shut_for_a_room_or_the_house():
    async def check(place, stage):
        await stage.doors(opened=True)
        assert place.world.open_rooms == {"study", "passage"}
        await stage.doors(opened=False, room="study")
        assert place.world.open_rooms == {"passage"}

    on_stage(check)


@pytest.mark.parametrize(
    "direction",
    [
        {"do": "sit", "person": "nobody"},
        {"do": "leave", "person": "nobody"},
        {"do": "doors", "room": "attic", "open": True},
        {"do": "walk", "person": "a", "floor": "cellar", "route": [{"at_mm": [0, 0]}]},
        {"do": "walk", "person": "a", "floor": "ground", "route": []},
        {
            "do": "walk",
            "person": "a",
            "floor": "ground",
            "from": "here",
            "route": [{"at_mm": [0, 0]}],
        },
        {"do": "dance", "person": "a"},
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(direction):
    async def check(place, stage):
        cue = await stage.begin(**direction)
        with pytest.raises(PlanError, match="the stage refused"):
            await cue.times()
        assert (place.world.people, place.world.directions) == ({}, 0)

    on_stage(check)


def test_another_direction_to_the_same_person_takes_over():
    async def check(_, stage):
        first = await stage.begin_walk("a", "ground", [((0, 0), 500.0)])
        await first.started()
        await stage.walk("a", "ground", [((10, 0), 0)])
        with pytest.raises(PlanError, match="a does another"):
            await first.times()

    on_stage(check)


def test_lines_that_are_no_directions_are_answered_and_the_connection_goes_on():
    async def check(place, _):
        reader, writer = await asyncio.open_connection(place.stage_host, place.stage_port)
        for line in (b"nonsense\n", b"[1]\n", b'{"id": 4}\n'):
            writer.write(line)
        answers = [json.loads(await reader.readline()) for _ in range(3)]
        assert [answer["id"] for answer in answers] == [None, None, 4]
        assert all("error" in answer for answer in answers)
        writer.close()
        await writer.wait_closed()

    on_stage(check)


def test_a_simulator_that_is_gone_is_said():
    async def check():
        async with running() as (place, _):
            stage = StageClient(place.stage_host, place.stage_port)
            await stage.__aenter__()
            cue = await stage.begin_walk("a", "ground", [((0, 0), 10_000.0)])
            await cue.started()
        with pytest.raises(LinkError, match="doesn't answer"):
            await cue.times()
        with pytest.raises(LinkError):
            await stage.leave("a")
        await stage.__aexit__(None, None, None)
        with pytest.raises(LinkError):
            await stage.__aenter__()

    asyncio.run(check())

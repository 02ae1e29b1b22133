"""A lap of every room, seen by the simulated radar: nothing false happens but the house's faults."""

import random

import msgspec
import pytest
from shapely import Polygon

from fleet.model.house import HousePlan, ModuleType
from fleet.simulator.radar import Body, Dice, targets_seen
from fleet.simulator.truth import Truth
from fleet.simulator.world import eye_of
from tests.houses import marlpit
from tests.houses.generator import make_house
from tests.houses.house import documents

WALK_MM_A_TICK = 70
BODY_MM = 1100.0


def laps(plan_document, truth_document):
    """Reports of each unit on each lap of its floor: (unit label, its room, lap's room) → counts."""
    plan, truth = msgspec.convert(plan_document, HousePlan), msgspec.convert(truth_document, Truth)
    rooms = {room.key: room for room in plan.rooms}
    labels = {unit.serial: unit.label for unit in plan.units}
    return {
        (labels[unit.serial], unit.room, room.key): counts(unit, eye_of(unit, rooms, truth), room)
        for unit in truth.units
        for room in plan.rooms
        if room.floor == rooms[unit.room].floor
    }


def counts(unit, eye, room) -> list[int]:
    loop = Polygon(room.outline_mm).buffer(-500, join_style="mitre").exterior
    dice = random.Random(unit.serial)
    seen = []
    for tick in range(int(loop.length / WALK_MM_A_TICK)):
        place = loop.interpolate(tick * WALK_MM_A_TICK)
        targets = targets_seen(
            eye,
            [Body(1, place.x, place.y, 0.0, 0.0, BODY_MM)],
            (),
            Dice(5, tick, dice),
            max_distance_mm=unit.settings["max_distance_mm"],
            sensitivity_percent=unit.settings["sensitivity_percent"],
        )
        seen.append(len(targets))
    return seen


def false_things(seen) -> set[tuple[str, str]]:
    leaks = {
        (label, "bleed-through") for (label, own, room), n in seen.items() if own != room and any(n)
    }
    images = {
        (label, "ghost") for (label, own, room), n in seen.items() if own == room and max(n) > 1
    }
    return leaks | images


def of_those_kinds(expected) -> set[tuple[str, str]]:
    kinds = {"bleed-through", "ghost"}
    return {(row["unit"], row["kind"]) for row in expected if row["kind"] in kinds}


def test_in_marlpit_only_the_mirror_and_the_stud_wall_show_what_is_not_there():
    assert false_things(laps(*documents(marlpit.marlpit()))) == of_those_kinds(marlpit.EXPECTED)


def test_in_marlpit_a_walker_in_the_hall_triggers_the_office_about_a_third_of_the_time():
    seen = laps(*documents(marlpit.marlpit()))["U06", "office", "hall"]
    assert 0.2 <= sum(map(bool, seen)) / len(seen) <= 0.5


@pytest.mark.parametrize("seed", range(1, 11))
def test_in_a_made_house_only_its_mirror_and_its_leak_show_what_is_not_there(seed):
    plan, truth, expected = make_house(seed)
    assert false_things(laps(plan, truth)) == of_those_kinds(expected)


@pytest.mark.parametrize("seed", range(1, 11))
def test_in_a_faultless_house_nothing_false_is_seen(seed):
    plan, truth, _ = make_house(seed, faults=False)
    assert false_things(laps(plan, truth)) == set()


@pytest.mark.parametrize("seed", range(1, 11))
def test_a_lap_of_a_room_is_noticed_by_its_units_together(seed):
    plan, truth, _ = make_house(seed, faults=False)
    seen = laps(plan, truth)
    vital = {u["label"] for u in plan["units"] if u["module_type"] == ModuleType.VITAL}
    for room in plan["rooms"]:
        crew = [
            n
            for (label, own, lap), n in seen.items()
            if own == lap == room["key"] and label not in vital
        ]
        noticed = [any(one) for one in zip(*crew, strict=True)]
        assert sum(noticed) / len(noticed) >= 0.9

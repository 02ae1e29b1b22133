"""A unit's life tick by tick: numbers, loss, repeatability."""

import json
from dataclasses import replace

import pytest

from fleet.model.geometry import Pose
from fleet.simulator import names
from fleet.simulator.chance import key_of, share_ppm
from fleet.simulator.directions import Doors, Leave, Sit, Spot, Walk, begin
from fleet.simulator.truth import Truth
from fleet.simulator.world import world_of
from tests.unit.simulator.small_house import PLAN, STATIC, TRACKING, TRUTH, VITAL

ROUTE = (Spot((1000, 1000)), Spot((3000, 4000)), Spot((1000, 4000)))


class Ears:
    """Notes what a unit would send, in place of open connections."""

    def __init__(self) -> None:
        self.heard: list[tuple[str, str]] = []

    def listening(self, _: str) -> bool:
        return True

    def send(self, name: str, _: str, data: str) -> None:
        self.heard.append((name, data))

    def reset(self) -> None:
        self.heard.append(("reset", ""))

    def of(self, name: str) -> list:
        return [json.loads(data) for heard, data in self.heard if heard == name]


def lived(truth, ticks, seed=1, before=None):
    """A house in which so many ticks went by, and the ears at each unit."""
    world = world_of(PLAN, truth, seed)
    ears = [Ears() for _ in world.units]
    for (_, unit), ear in zip(world.units, ears, strict=True):
        unit.streams = ear
    for tick in range(ticks):
        if before:
            before(world, tick)
        world.step(tick, f"t{tick}")
    return world, ears


def test_lost_reports_are_the_share_that_the_truth_says_and_keep_their_numbers():
    _, (ear,) = lived(Truth((replace(STATIC, lost_ppm=120_000),)), 10_000)
    numbers = [report["number"] for report in ear.of(names.ECHOES)]
    assert numbers == sorted(set(numbers))
    assert len(numbers) / (numbers[-1] + 1) == pytest.approx(0.88, abs=0.01)


def test_a_faultless_unit_loses_none_and_empty_reports_come_too():
    _, (ear,) = lived(Truth((STATIC,)), 100)
    assert [report["number"] for report in ear.of(names.ECHOES)] == list(range(100))
    assert all(report["targets"] == [] for report in ear.of(names.ECHOES))


def reports_after(direction_tick, seed):
    def walk(world, tick):
        if tick == direction_tick:
            begin(world, Walk(1, "a", "ground", ROUTE), tick)

    _, ears = lived(TRUTH, direction_tick + 60, seed, walk)
    return [[r["targets"] for r in ear.of(names.ECHOES)[direction_tick:]] for ear in ears]


def test_what_follows_a_direction_depends_on_the_seed_and_not_on_when_it_came():
    assert reports_after(7, seed=1) == reports_after(42, seed=1)
    assert reports_after(7, seed=1) != reports_after(7, seed=2)


def test_occupancy_is_said_on_change_and_once_a_minute():
    def visit(world, tick):
        if tick == 100:
            begin(world, Walk(1, "a", "ground", (Spot((2000, 1500)),)), tick)
        if tick == 150:
            begin(world, Leave(2, "a"), tick)

    _, (ear, *_) = lived(TRUTH, 650, before=visit)
    said = [(value["time"], value["any"]) for value in ear.of(names.PRESENCE)]
    assert said == [("t0", False), ("t101", True), ("t199", False), ("t600", False)]


def test_breathing_is_sure_once_somebody_has_sat_still():
    def sit(world, tick):
        if tick == 10:
            begin(world, Walk(1, "a", "ground", (Spot((1000, 2500)),)), tick)
        if tick == 20:
            begin(world, Sit(2, "a"), tick)

    _, (ear,) = lived(Truth((VITAL,)), 400, before=sit)
    breathing = ear.of(names.BREATHING)
    assert breathing[0]["quality"] == 0
    assert "rate" not in breathing[0]
    assert 10 <= breathing[-1]["rate"] <= 20


def test_slow_values_are_said_when_they_change():
    _, (ear,) = lived(Truth((STATIC,)), 1300)
    assert len(ear.of(names.WIFI_LEVEL)) == 1
    assert len(ear.of(names.BOARD_TEMPERATURE)) == 3


def test_an_open_door_lets_the_radar_through_and_a_shut_one_does_not():
    looking_at_the_door = replace(TRACKING, pose=Pose(1000, 2450, 0, height_mm=1100))

    def seen(opened):
        def walk(world, tick):
            if tick == 0:
                begin(world, Walk(1, "a", "ground", (Spot((5000, 2450)),)), tick)
                begin(world, Doors(2, opened), tick)

        _, (ear,) = lived(Truth((looking_at_the_door,)), 50, before=walk)
        return any(report["targets"] for report in ear.of(names.ECHOES))

    assert seen(opened=True)
    assert not seen(opened=False)


def test_an_unknown_property_is_none():
    world = world_of(PLAN, Truth((TRACKING,)), 1)
    with pytest.raises(KeyError):
        world.units[0][1].text_of("nothing")


def test_chance_is_even_and_the_same_every_time():
    drawn = [share_ppm(key_of("a", 1), n) for n in range(20_000)]
    assert sum(drawn) / len(drawn) == pytest.approx(500_000, rel=0.02)
    assert sum(value < 100_000 for value in drawn) / len(drawn) == pytest.approx(0.1, abs=0.01)
    assert drawn[:3] == [share_ppm(key_of("a", 1), n) for n in range(3)]

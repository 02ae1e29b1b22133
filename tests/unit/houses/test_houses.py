"""Every house holds together, looked at with shapely and without the program's own geometry."""

import itertools
import json

import jsonschema
import msgspec
import pytest
import shapely
from shapely import LineString, Point, Polygon

from fleet.model.house import HousePlan, ModuleType, Room
from fleet.model.plans import plan_from
from fleet.model.sheets import areas_of
from fleet.shipped import resources
from fleet.simulator.truth import Truth
from tests.houses import sight
from tests.houses.generator import make_house, write_house
from tests.houses.house import RANGE_MM, onto_plan

SEEDS = range(1, 26)
HOUSES = ["marlpit", *SEEDS]


def house_of(name):
    if name == "marlpit":
        folder = resources() / "houses" / "marlpit"
        files = [folder / "plan.json", folder / "truth.json"]
        plan, truth = (json.loads(file.read_text(encoding="utf-8")) for file in files)
    else:
        plan, truth, _ = make_house(name)
    return plan_from(plan, subject="plan.json"), msgspec.convert(truth, Truth)


@pytest.fixture(params=HOUSES, ids=str, scope="module")
def house(request) -> tuple[HousePlan, Truth]:
    return house_of(request.param)


def room_of(plan: HousePlan, key: str) -> Room:
    return next(room for room in plan.rooms if room.key == key)


def test_rooms_of_a_floor_are_simple_and_stand_a_wall_apart(house):
    plan, _ = house
    for room in plan.rooms:
        assert Polygon(room.outline_mm).is_valid
        assert Polygon(room.outline_mm).exterior.is_ccw
    for one, other in itertools.combinations(plan.rooms, 2):
        if one.floor == other.floor:
            assert Polygon(one.outline_mm).distance(Polygon(other.outline_mm)) >= 100


def test_doors_lie_on_outlines_and_inner_ones_face_each_other(house):
    plan, _ = house
    for room in plan.rooms:
        assert room.doors
        edge = Polygon(room.outline_mm).exterior.buffer(1)
        for door in room.doors:
            assert edge.covers(LineString([door.start_mm, door.end_mm]))
    reached = {plan.rooms[0].key}
    for _ in plan.rooms:
        reached |= {key for pair in joined(plan) if reached & pair for key in pair}
    ground = {room.key for room in plan.rooms if room.floor == plan.rooms[0].floor}
    assert ground <= reached


def joined(plan: HousePlan) -> list[set[str]]:
    """Pairs of rooms whose doors stand across a wall from each other."""
    return [
        {one.key, other.key}
        for one, other in itertools.combinations(plan.rooms, 2)
        if one.floor == other.floor
        for a, b in itertools.product(one.doors, other.doors)
        if LineString([a.start_mm, a.end_mm]).hausdorff_distance(LineString([b.start_mm, b.end_mm]))
        <= 150
    ]


def test_units_hang_on_the_outline_of_their_room_at_reach(house):
    plan, truth = house
    for unit in (*plan.units, *truth.units):
        wall = Polygon(room_of(plan, unit.room).outline_mm).exterior
        assert wall.distance(Point(unit.pose.x_mm, unit.pose.y_mm)) == 0
        assert 1600 <= unit.pose.height_mm <= 2000
        assert unit.settings["mounting_height_mm"] == unit.pose.height_mm


def test_settings_are_within_what_a_module_takes(house):
    plan, truth = house
    for unit in plan.units:
        assert 500 <= unit.settings["max_distance_mm"] <= RANGE_MM[unit.module_type]
        assert unit.settings["max_distance_mm"] % 50 == 0
    assert all(
        unit.settings["max_distance_mm"] <= RANGE_MM[unit.module_type] for unit in truth.units
    )


def test_only_tracking_units_have_areas_and_at_most_five(house):
    plan, truth = house
    for unit in (*plan.units, *truth.units):
        assert len(unit.areas) <= (5 if unit.module_type is ModuleType.TRACKING else 0)


def test_planned_areas_keep_clear_of_walls(house):
    plan, _ = house
    for unit in plan.units:
        floor = Polygon(room_of(plan, unit.room).outline_mm).buffer(-199, join_style="mitre")
        for area in unit.areas:
            assert floor.covers(Polygon(area.outline_mm))


def test_true_areas_are_rectangles_before_the_unit_and_within_its_range(house):
    _, truth = house
    for area in itertools.chain.from_iterable(unit.areas for unit in truth.units):
        shape = Polygon(area.outline_mm)
        assert shape.equals(shapely.box(*shape.bounds))
        assert shape.bounds[1] >= 0
        assert max(shape.bounds[2] - shape.bounds[0], shape.bounds[3] - shape.bounds[1]) >= 800
        assert Point(0, 0).hausdorff_distance(shape) <= RANGE_MM[ModuleType.TRACKING]


def test_true_areas_are_the_planned_ones_seen_by_the_planned_pose_but_for_one(house):
    plan, truth = house
    true_units = {unit.serial: unit for unit in truth.units}
    other = [
        unit.label
        for unit in plan.units
        if unit.areas
        and [area.outline_mm for area in unit.areas]
        != [
            tuple(onto_plan(corner, unit.pose) for corner in area.outline_mm)
            for area in true_units[unit.serial].areas
        ]
    ]
    assert len(other) == 1


def test_a_lap_of_every_room_is_seen_by_its_own_planned_units(house):
    plan, _ = house
    for room in plan.rooms:
        units = [(unit.pose, unit.module_type) for unit in plan.units if unit.room == room.key]
        floor = Polygon(room.outline_mm).buffer(1)
        assert sight.share_seen(units, sight.lap_points(room.outline_mm), floor) >= 0.95


def test_a_lap_behind_the_leaky_wall_is_seen_about_a_third_of_the_time(house):
    plan, truth = house
    (leak,) = truth.leaky_walls
    home = room_of(plan, leak.seen_from)
    (unit,) = [unit for unit in truth.units if unit.room == home.key]
    assert unit.module_type is ModuleType.STATIC
    middle = LineString([leak.segment.start_mm, leak.segment.end_mm])
    (behind,) = [
        room
        for room in plan.rooms
        if room.floor == home.floor
        and room is not home
        and Polygon(room.outline_mm).buffer(80).covers(middle)
    ]
    _, space = sight.through_wall(home.outline_mm, behind.outline_mm)
    lap = sight.lap_points(behind.outline_mm)
    share = sight.share_seen([(unit.pose, unit.module_type)], lap, space)
    assert 0.3 <= share * leak.pass_ppm / 1e6 <= 0.42
    assert leak.pass_ppm < 1_000_000


def test_the_image_of_a_walker_in_the_mirror_is_seen_for_a_good_part_of_a_lap(house):
    plan, truth = house
    (mirror,) = truth.mirrors
    glass = LineString([mirror.segment.start_mm, mirror.segment.end_mm])
    (room,) = [
        room
        for room in plan.rooms
        if room.floor == mirror.floor and Polygon(room.outline_mm).exterior.buffer(1).covers(glass)
    ]
    (unit,) = [unit for unit in truth.units if unit.room == room.key]
    ends = (mirror.segment.start_mm, mirror.segment.end_mm)
    seen = sight.images_seen(unit.pose, room.outline_mm, ends)
    assert len(seen) >= 0.35 * len(sight.lap_points(room.outline_mm))
    beyond = [Polygon(room.outline_mm).distance(Point(image)) for image in seen]
    assert 450 <= min(beyond) <= max(beyond) <= 1350


def test_as_left_sheets_are_whole_and_their_areas_can_be_read(house):
    plan, _ = house
    (visit,) = plan.visits
    assert set(visit.as_left) == {unit.label for unit in plan.units}
    whole = {"hardware.revision", "module.type", "module.firmware", "build.version", "build.id"}
    whole |= {"build.sequence", "build.image_digest", "setting.hold_time_s"}
    for unit in plan.units:
        assert whole <= set(visit.as_left[unit.label])
        assert len(areas_of(visit.as_left[unit.label])) == len(unit.areas)


def test_one_room_alone_was_shown_and_not_signed(house):
    plan, _ = house
    (visit,) = plan.visits
    assert {seen.room for seen in visit.rooms} == {room.key for room in plan.rooms}
    assert [seen.open for seen in visit.rooms if seen.signature is None] == [()]
    for seen in visit.rooms:
        if seen.signature:
            assert set(seen.signature.exceptions) == set(seen.open)


def test_macs_are_locally_administered_and_serials_differ(house):
    _, truth = house
    assert all(int(unit.mac[:2], 16) & 0b11 == 0b10 for unit in truth.units)
    assert len({unit.mac for unit in truth.units}) == 14
    assert len({unit.serial for unit in truth.units}) == 14


def test_both_files_say_that_they_are_invented(house):
    plan, truth = house
    assert plan.site.demo
    assert "nvented" in plan.site.note
    assert "nvented" in truth.note


@pytest.mark.parametrize("name", ["plan", "truth"])
@pytest.mark.parametrize("house_name", ["marlpit", 1, 2, 3])
def test_files_validate_against_their_schemas(name, house_name, tmp_path):
    folder = resources() / "houses" / "marlpit"
    if house_name != "marlpit":
        folder = tmp_path / "made"
        write_house(folder, *make_house(house_name)[:2])
    document = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
    schema = resources() / "schemas" / f"{name}.schema.json"
    jsonschema.Draft202012Validator(json.loads(schema.read_text(encoding="utf-8"))).validate(
        document
    )

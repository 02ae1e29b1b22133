"""A room's drawing: what is drawn, where, and with which hatch."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from fleet.drawing.areas import draw_area, draw_found, found_areas, size_words
from fleet.drawing.floor import draw_floor
from fleet.drawing.primitives import Circle, Fill, Polygon, Polyline, Role, Stroke, Text
from fleet.drawing.room import draw_room
from fleet.drawing.unit_marks import draw_unit, triangle
from fleet.drawing.unit_view import draw_unit_view
from fleet.drawing.views import draw_view, on_plan, range_arc, view_of
from fleet.drawing.walls import WALL_MM, draw_doors, draw_walls, floor_shape, polygons_in
from fleet.model.geometry import Pose, Segment
from fleet.model.house import Mark, MarkKind, ModuleType, Room
from fleet.model.sheets import Area, AreaKind
from fleet.model.units import Unit
from tests import invented_house as invented


def words(shapes) -> list[str]:
    return [shape.words for shape in shapes if isinstance(shape, Text)]


def walls_of(rooms) -> shapely.Geometry:
    return shapely.union_all(
        [shapely.Polygon(piece.points_mm, piece.holes_mm) for piece in draw_walls(rooms)]
    )


def test_walls_stand_outside_the_inner_faces_and_leave_doors_open():
    walls = walls_of([invented.PARLOUR])
    floor = floor_shape(invented.PARLOUR.outline_mm)
    assert walls.intersection(floor).area == pytest.approx(0, abs=1)
    ring = 2 * WALL_MM * (4400 + 6000) + 4 * WALL_MM**2
    assert walls.area == pytest.approx(ring - 850 * WALL_MM, rel=1e-6)
    assert not walls.contains(shapely.Point(800, -WALL_MM / 2))
    assert walls.contains(shapely.Point(3000, -WALL_MM / 2))


def test_a_room_without_doors_has_a_wall_with_its_floor_as_hole():
    (wall,) = draw_walls([replace(invented.PARLOUR, doors=())])
    assert isinstance(wall, Polygon)
    assert len(wall.holes_mm) == 1


def test_rooms_side_by_side_share_their_wall_and_doors_go_right_through():
    walls = walls_of([invented.PARLOUR, invented.STUDY, invented.PASSAGE])
    assert not walls.intersects(shapely.Point(800, -60))
    assert walls.contains(shapely.Point(4460, 3000))


def test_a_door_that_two_rooms_name_is_drawn_once():
    alone = draw_doors([invented.PARLOUR])
    both = draw_doors([invented.PARLOUR, invented.PASSAGE])
    assert len(alone) == len(both) == 2


def test_a_door_swings_into_its_room_and_a_wide_one_does_not_swing():
    leaf, swing = draw_doors([invented.PARLOUR])
    assert isinstance(leaf, Polyline)
    assert isinstance(swing, Polyline)
    assert swing.points_mm[0] == pytest.approx((400, 850))
    assert swing.points_mm[-1] == pytest.approx((1250, 0))
    wide = [shape for shape in draw_doors([invented.STUDY]) if len(shape.points_mm) == 2]
    assert any(shape.stroke is Stroke.DASHED for shape in wide)


def test_every_measure_is_in_metres_with_two_decimals():
    said = words(draw_room(invented.PARLOUR, []).shapes)
    assert {"4.40 m", "6.00 m"} <= set(said)


def test_an_odd_room_has_each_wall_measured_and_no_figure_twice():
    said = [word for word in words(draw_room(invented.STUDY, []).shapes) if word.endswith(" m")]
    assert sorted(said) == sorted(
        ["4.00 m", "5.00 m", "2.40 m", "2.00 m", "2.60 m", "2.00 m", "2 m"]
    )


def test_areas_are_hatched_by_kind_and_named_with_their_size():
    drawing = draw_room(invented.PARLOUR, [invented.TRACKING])
    fills = {shape.fill for shape in drawing.shapes if isinstance(shape, Polygon)}
    assert {Fill.WATCH, Fill.IGNORE, Fill.DOORWAY} <= fills
    assert {"Sofa", "1.75 × 1.00 m", "watch", "ignore", "doorway"} <= set(words(drawing.shapes))


def test_size_words_give_width_then_depth():
    assert size_words(((0, 0), (1750, 0), (1750, 1000), (0, 1000))) == "1.75 × 1.00 m"


@pytest.mark.parametrize(
    ("door", "towards"),
    [
        (Segment((0, -900), (800, -900)), (0, -1)),
        (Segment((3000, 0), (3000, 800)), (1, 0)),
        (Segment((-3000, 0), (-3000, 800)), (-1, 0)),
        (None, (0, 1)),
    ],
)
def test_arrows_of_a_doorway_point_to_the_nearest_door(door, towards):
    area = Area("d", "Door", AreaKind.DOORWAY, invented.box(0, 0, 1000, 1000))
    shapes = draw_area(area, [door] if door else [], labelled=False)
    (start, tip) = next(s.points_mm for s in shapes if isinstance(s, Polyline))
    length = math.dist(start, tip)
    heading = ((tip[0] - start[0]) / length, (tip[1] - start[1]) / length)
    assert heading == pytest.approx(towards)


def test_an_area_of_two_corners_is_left_out():
    assert draw_area(Area("a", "A", AreaKind.WATCH, ((0, 0), (1, 1)))) == []


def test_a_found_area_that_differs_is_dotted_and_one_that_agrees_is_not_drawn_again():
    shapes = draw_found(invented.TRACKING)
    dotted = [shape for shape in shapes if isinstance(shape, Polygon)]
    assert [shape.stroke for shape in dotted] == [Stroke.DOTTED]
    assert words(shapes) == ["Sofa, as found"]
    corners = shapely.Polygon(dotted[0].points_mm).bounds
    assert corners == pytest.approx((2350, 1000, 4100, 2000), abs=1)


def test_without_found_nothing_is_dotted():
    drawing = draw_room(invented.PARLOUR, [invented.TRACKING], with_found=False)
    assert not any(shape.role is Role.FOUND for shape in drawing.shapes)


@pytest.mark.parametrize(
    "sheet",
    [
        {"areas.a.kind": "odd", "areas.a.outline": "0,0 1,0 1,1"},
        {"areas.a.kind": "watch", "areas.a.outline": "nothing"},
        {"areas.a.kind": "watch", "areas.a.outline": "0,0 1,1"},
    ],
)
def test_found_areas_that_cannot_be_read_are_left_out(sheet):
    reading = replace(invented.TRACKING.found, sheet=sheet)
    assert found_areas(replace(invented.TRACKING, found=reading)) == ()


def test_a_planned_sheet_that_cannot_be_read_hides_no_found_area():
    broken = replace(invented.TRACKING, planned={"areas.a.outline": "x"})
    assert sum(isinstance(shape, Polygon) for shape in draw_found(broken)) == 3


def test_a_triangle_points_where_the_unit_looks():
    left, tip, right = triangle(Pose(0, 3800, 0))
    assert tip[0] > 0
    assert tip[1] == pytest.approx(3800)
    assert (left[0], right[0]) == pytest.approx((0, 0))


def test_a_triangle_in_a_corner_stays_on_the_floor():
    corner = Pose(4400, 0, 135_000)
    for x, y in triangle(corner):
        assert x <= 4400 + 1e-6
        assert y >= -1e-6


def test_a_unit_that_hangs_upside_down_says_so():
    assert "upside-down" in words(draw_unit(invented.UPSIDE_DOWN))


def test_a_unit_to_look_at_is_filled_and_has_its_own_role():
    body = draw_unit(invented.TRACKING, look=True)[0]
    assert isinstance(body, Polygon)
    assert (body.role, body.fill) == (Role.UNIT_LOOK, Fill.SOLID)


def test_a_view_is_what_the_unit_says_and_else_what_its_module_type_does():
    assert view_of(invented.TRACKING) == (6500, 50_000)
    assert view_of(invented.STATIC) == (9000, 45_000)


@pytest.mark.parametrize("odd", [0, -1, "far", True])
def test_an_odd_capability_is_not_taken_for_a_range(odd):
    reading = replace(
        invented.TRACKING.found,
        capabilities={"max_range_mm": odd, "horizontal_field_of_view_deg": 400},
    )
    assert view_of(replace(invented.TRACKING, found=reading)) == (7000, 55_000)


def test_a_view_stays_within_the_room():
    floor = floor_shape(invented.PARLOUR.outline_mm)
    (view,) = draw_view(invented.TRACKING, invented.PARLOUR.outline_mm)
    assert shapely.Polygon(view.points_mm).difference(floor.buffer(1)).is_empty
    assert view.stroke is Stroke.DASHED


def test_a_range_arc_lies_at_its_range_from_the_unit():
    arc = range_arc(invented.STATIC, 2410)
    assert [math.dist(p, (4400, 0)) for p in arc.points_mm] == pytest.approx(
        [2410] * len(arc.points_mm)
    )


def test_a_unit_upside_down_has_its_view_flipped_on_the_plan():
    assert on_plan(((1000, 0),), Pose(0, 0, 90_000)) == (pytest.approx((1000, 0)),)
    flipped = on_plan(((1000, 0),), Pose(0, 0, 90_000, upside_down=True))
    assert flipped == (pytest.approx((-1000, 0)),)


def test_marks_have_their_own_shapes_and_a_name_is_not_written_twice():
    shapes = draw_room(invented.PARLOUR, [invented.TRACKING]).shapes
    assert sum(isinstance(s, Circle) and s.role is Role.MARK for s in shapes) == 4
    assert words(shapes).count("Sofa") == 1
    assert {"Fan", "Mirror", "Dresser"} <= set(words(shapes))


def test_a_mirror_is_named_on_the_side_of_the_room():
    lines = {}
    for points in (((0, 100), (0, 900)), ((1000, 100), (1000, 900)), ((100, 0), (900, 0))):
        mark = Mark(MarkKind.MIRROR, "Glass", points)
        room = Room(
            "r", "R", "g", invented.PARLOUR.kind, invented.box(0, 0, 1000, 1000), marks=(mark,)
        )
        lines[points[0]] = next(
            s.line for s in draw_room(room, []).shapes if isinstance(s, Text) and s.words == "Glass"
        )
    assert lines[(0, 100)] > 0
    assert lines[(1000, 100)] < 0
    assert lines[(100, 0)] < 0


def test_a_bed_s_pillow_line_crosses_it_either_way():
    for outline in (invented.box(0, 0, 900, 2000), invented.box(0, 0, 2000, 900)):
        mark = Mark(MarkKind.BED, "Bed", outline)
        room = replace(invented.PARLOUR, marks=(mark,))
        lines = [s for s in draw_room(room, []).shapes if isinstance(s, Polyline)]
        pillow = next(s for s in lines if s.role is Role.MARK)
        assert math.dist(*pillow.points_mm) == pytest.approx(900)


def test_a_mark_without_points_is_left_out():
    room = replace(invented.PARLOUR, marks=(Mark(MarkKind.SEAT, "Nowhere", ()),))
    assert "Nowhere" not in words(draw_room(room, []).shapes)


def test_words_lie_above_everything_else():
    shapes = draw_room(invented.PARLOUR, [invented.TRACKING]).shapes
    first = next(at for at, shape in enumerate(shapes) if isinstance(shape, Text))
    assert all(isinstance(shape, Text) for shape in shapes[first:])


def test_a_room_whose_outline_crosses_itself_is_drawn_all_the_same():
    bow = replace(
        invented.PARLOUR, outline_mm=((0, 0), (2000, 2000), (2000, 0), (0, 2000)), doors=()
    )
    assert any(shape.role is Role.WALL for shape in draw_room(bow, []).shapes)


def test_pieces_of_a_mixed_geometry_are_its_polygons():
    square = shapely.box(0, 0, 10, 10)
    mixed = shapely.GeometryCollection(
        [square, shapely.LineString([(0, 0), (1, 1)]), shapely.GeometryCollection([square])]
    )
    assert len(polygons_in(mixed)) == 2


def test_a_floor_names_its_rooms_and_units_and_leaves_out_other_floors():
    house = invented.house()
    elsewhere = Unit(replace(invented.STATIC.line, label="U9", room="attic"), {})
    drawing = draw_floor(house.plan, "ground", [*house.units.values(), elsewhere])
    said = words(drawing.shapes)
    assert {"Parlour", "Study & <den>", "Passage", "U1", "U4", "26.4 m²"} <= set(said)
    assert "U9" not in said
    assert drawing.title == "Ground floor"


def test_a_floor_names_an_l_shaped_room_on_its_own_floor():
    shapes = draw_floor(invented.house().plan, "ground", []).shapes
    spot = next(s.at_mm for s in shapes if isinstance(s, Text) and s.words == "Study & <den>")
    assert floor_shape(invented.STUDY.outline_mm).contains(shapely.Point(spot))


def test_a_floor_without_rooms_is_an_empty_drawing():
    drawing = draw_floor(invented.house().plan, "cellar", [])
    assert (drawing.title, drawing.shapes) == ("cellar", ())


def test_a_unit_s_own_view_has_an_arc_each_metre_and_its_areas():
    drawing = draw_unit_view(invented.TRACKING)
    said = words(drawing.shapes)
    assert [word for word in said if word in {f"{m} m" for m in range(1, 12)}] == [
        f"{m} m" for m in range(1, 7)
    ]
    assert "Screen" in said
    assert not words(draw_unit_view(invented.TRACKING, labelled=False).shapes)


def test_every_shape_of_a_room_lies_in_its_box():
    drawing = draw_room(invented.PARLOUR, [invented.TRACKING, invented.STATIC])
    x0, y0, x1, y1 = drawing.box_mm
    for shape in drawing.shapes:
        points = shape.points_mm if isinstance(shape, Polygon | Polyline) else (shape.at_mm,)
        xs, ys = np.array(points).T
        assert xs.min() >= x0
        assert xs.max() <= x1
        assert ys.min() >= y0
        assert ys.max() <= y1


def test_module_types_all_have_a_view():
    for kind in ModuleType:
        unit = Unit(replace(invented.STATIC.line, module_type=kind), {})
        assert view_of(unit)[0] > 0

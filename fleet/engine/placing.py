"""Putting a unit that was heard into a room: onto the nearest wall, looking into the room."""

import math
from dataclasses import replace

from fleet.model.errors import PlanError
from fleet.model.geometry import Outline, Point, Pose
from fleet.model.house import HousePlan, ModuleType, PlannedUnit
from fleet.model.units import Reading
from fleet.numerics.outlines import signed_area_mm2


def placed_line(
    plan: HousePlan, reading: Reading, room_key: str, point: Point | None
) -> PlannedUnit:
    """Return the schedule's line for a unit that a person puts into a room.

    A line of that room that still waits for a serial and wants this module is filled; otherwise a new line
    is made.

    Args:
        plan: the property.
        reading: what the unit says of itself.
        room_key: the room.
        point: where it was dropped, mm; None for the middle of the room's first wall.

    Raises:
        PlanError: there is no such room, or the unit has a module that no plan knows.
    """
    room = next((room for room in plan.rooms if room.key == room_key), None)
    if room is None:
        raise PlanError(f"there is no room {room_key!r}.", subject=reading.serial)
    module_type = _module_type(reading)
    mine = next((line for line in plan.units if line.serial == reading.serial), None)
    waiting = next(
        (
            line
            for line in plan.units
            if not line.serial and (line.room, line.module_type) == (room_key, module_type)
        ),
        None,
    )
    if waiting is not None and mine is None:
        filled = replace(waiting, serial=reading.serial)
        return filled if point is None else replace(filled, pose=on_wall(room.outline_mm, point))
    pose = on_wall(room.outline_mm, point or _first_wall_middle(room.outline_mm))
    if mine is not None:
        return replace(mine, room=room_key, pose=pose, areas=())
    return PlannedUnit(
        label=_next_label(plan),
        serial=reading.serial,
        room=room_key,
        module_type=module_type,
        hardware_revision=str(reading.sheet.get("hardware.revision", "")),
        pose=pose,
    )


def on_wall(outline_mm: Outline, point: Point) -> Pose:
    """Return the pose on the wall nearest to a point, looking straight into the room."""
    inward = 1 if signed_area_mm2(outline_mm) > 0 else -1
    walls = list(zip(outline_mm, (*outline_mm[1:], outline_mm[0]), strict=True))
    start, end = min(walls, key=lambda wall: _distance(_foot(wall[0], wall[1], point), point))
    x_mm, y_mm = _foot(start, end, point)
    along = math.atan2(end[1] - start[1], end[0] - start[0])
    heading_mdeg = round(math.degrees(along) * 1000) + inward * 90_000
    return Pose(round(x_mm), round(y_mm), heading_mdeg % 360_000)


def _foot(start: Point, end: Point, point: Point) -> tuple[float, float]:
    dx, dy = end[0] - start[0], end[1] - start[1]
    along = ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / (dx * dx + dy * dy or 1)
    along = min(max(along, 0.0), 1.0)
    return start[0] + along * dx, start[1] + along * dy


def _distance(one: tuple[float, float], other: tuple[float, float]) -> float:
    return math.hypot(one[0] - other[0], one[1] - other[1])


def _first_wall_middle(outline_mm: Outline) -> Point:
    (ax, ay), (bx, by) = outline_mm[0], outline_mm[1]
    return (ax + bx) // 2, (ay + by) // 2


def _module_type(reading: Reading) -> ModuleType:
    word = str(reading.sheet.get("module.type", ""))
    if word not in set(ModuleType):
        raise PlanError(
            f"it has the module {word or 'unnamed'!r}, which no plan knows.",
            subject=reading.serial,
            stands="It is not placed.",
        )
    return ModuleType(word)


def _next_label(plan: HousePlan) -> str:
    taken = {line.label for line in plan.units}
    number = len(taken) + 1
    while f"U{number:02d}" in taken:
        number += 1
    return f"U{number:02d}"

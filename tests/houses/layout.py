"""Floors of made houses: a passage with two rooms on either side of it, then turned.

Each room is drawn with the passage along x, from x = 0; the whole house is then turned by quarters
and moved, so that no direction is special. Lengths are mm.
"""

import random
from dataclasses import dataclass, replace

from fleet.model.geometry import Outline, Point, Segment
from fleet.model.house import Floor, Room, RoomKind
from tests.houses.house import rectangle

GROUND_KINDS = (RoomKind.LIVING, RoomKind.KITCHEN, RoomKind.OFFICE, RoomKind.GARAGE)
UPPER_KINDS = (RoomKind.BEDROOM, RoomKind.BEDROOM, RoomKind.BEDROOM, RoomKind.BATHROOM)
NAMES = {
    RoomKind.CIRCULATION: ("Long passage", "Gallery", "Porch way", "Top corridor", "Lobby"),
    RoomKind.LIVING: ("Parlour", "Snug", "Sitting room", "Garden room"),
    RoomKind.KITCHEN: ("Cook's room", "Breakfast kitchen", "Back kitchen"),
    RoomKind.OFFICE: ("Study", "Workroom", "Map room"),
    RoomKind.GARAGE: ("Cart shed", "Boat store", "Workshop"),
    RoomKind.BEDROOM: ("Blue room", "Oak room", "Guest room", "Twin room", "Attic bedroom"),
    RoomKind.BATHROOM: ("Wash room", "Shower room", "Tub room"),
}
DOOR_MM = 850


@dataclass(frozen=True, slots=True)
class Turn:
    """A turn of the plan by quarters counter-clockwise, then a move."""

    quarters: int
    move_mm: Point

    def point(self, point: Point) -> Point:
        """Turn and move a point."""
        x, y = point
        for _ in range(self.quarters):
            x, y = -y, x
        return (x + self.move_mm[0], y + self.move_mm[1])

    def room(self, room: Room) -> Room:
        """Turn and move a room with its doors."""
        doors = tuple(
            Segment(self.point(door.start_mm), self.point(door.end_mm)) for door in room.doors
        )
        return replace(
            room, outline_mm=tuple(self.point(corner) for corner in room.outline_mm), doors=doors
        )


def drawn_rooms(dice: random.Random) -> tuple[tuple[Floor, ...], tuple[Room, ...]]:
    """Draw two floors of five rooms each, the passage first, at least one room L-shaped."""
    names = {kind: dice.sample(pool, len(pool)) for kind, pool in NAMES.items()}
    turn = Turn(dice.randrange(4), (dice.randrange(-80, 80) * 50, dice.randrange(-80, 80) * 50))
    floors = (Floor("level-0", "Lower floor", 0), Floor("level-1", "Upper floor", 1))
    rooms: list[Room] = []
    for floor, kinds in zip(floors, (GROUND_KINDS, UPPER_KINDS), strict=True):
        order = (RoomKind.CIRCULATION, *dice.sample(kinds, len(kinds)))
        called = [(names[kind].pop(), kind) for kind in order]
        rooms += _floor(floor, called, dice)
    bent = dice.choice([i for i, room in enumerate(rooms) if _can_bend(room)])
    rooms[bent] = _bent(rooms[bent], dice)
    return floors, tuple(turn.room(room) for room in rooms)


def _floor(floor: Floor, called: list[tuple[str, RoomKind]], dice: random.Random) -> list[Room]:
    length, width = dice.randrange(5200, 6201, 100), dice.randrange(1500, 1801, 50)
    wall = dice.choice((100, 120, 150))
    outlines = [rectangle(0, 0, length, width)]
    doors: list[tuple[Segment, ...]] = [()]
    for side in (1, -1):
        near = width + wall if side == 1 else -wall
        face = width if side == 1 else 0
        for left, right in _row(length, wall, dice):
            far = near + side * dice.randrange(2800, 4601, 50)
            outlines.append(rectangle(left, min(near, far), right, max(near, far)))
            start = dice.randrange(max(left, 0) + 100, min(right, length) - 100 - DOOR_MM, 50)
            doors[0] += (Segment((start, face), (start + DOOR_MM, face)),)
            doors.append((Segment((start, near), (start + DOOR_MM, near)),))
    if floor.level == 0:
        doors[0] += (Segment((length, 100), (length, 100 + DOOR_MM)),)
    return [
        Room(name.lower().replace(" ", "-").replace("'", ""), name, floor.key, kind, *drawn)
        for (name, kind), drawn in zip(called, zip(outlines, doors, strict=True), strict=True)
    ]


def _row(length: int, wall: int, dice: random.Random) -> tuple[Point, Point]:
    """Return left and right x of two rooms beside a passage, each with space for a door to it."""
    parted = dice.randrange(1600, length - 1700, 50)
    widths = dice.randrange(2700, 4801, 50), dice.randrange(2700, 4801, 50)
    return (parted - widths[0], parted), (parted + wall, parted + wall + widths[1])


def _can_bend(room: Room) -> bool:
    x0, y0, x1, y1 = bounds(room.outline_mm)
    return room.kind is not RoomKind.CIRCULATION and x1 - x0 >= 3200 and y1 - y0 >= 3000


def _bent(room: Room, dice: random.Random) -> Room:
    """Cut one of the two corners away from the passage."""
    x0, y0, x1, y1 = bounds(room.outline_mm)
    cut_x, cut_y = dice.randrange(900, 1301, 50), dice.randrange(900, 1301, 50)
    door_y = room.doors[0].start_mm[1]
    inner, outer = (y0, y1) if door_y == y0 else (y1, y0)
    step = outer - cut_y if outer > inner else outer + cut_y
    corners: Outline = (
        (x0, inner),
        (x1, inner),
        (x1, step),
        (x1 - cut_x, step),
        (x1 - cut_x, outer),
        (x0, outer),
    )
    if dice.random() < 0.5:  # the other corner
        corners = tuple((x0 + x1 - x, y) for x, y in corners)
        corners = corners[::-1]
    return replace(room, outline_mm=corners if outer > inner else corners[::-1])


def bounds(outline_mm: Outline) -> tuple[int, int, int, int]:
    """Return least x, least y, greatest x, greatest y."""
    xs, ys = zip(*outline_mm, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def is_rectangle(room: Room) -> bool:
    """Say whether the room has four corners."""
    return len(room.outline_mm) == 4

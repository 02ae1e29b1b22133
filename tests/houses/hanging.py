"""Where units hang in a made house, and the areas that they are given. Lengths are mm."""

import random
from dataclasses import dataclass, replace

from fleet.model.geometry import Point, Pose
from fleet.model.house import Mark, MarkKind, ModuleType, Room, RoomKind
from fleet.model.sheets import AreaKind
from tests.houses.house import RANGE_MM, Hung, S, T, V, onto_plan
from tests.houses.layout import bounds, is_rectangle

Areas = tuple[tuple[str, AreaKind, int, int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Wall:
    """A wall of a rectangular room seen from inside: its left end, quarter heading, length, depth."""

    left: Point
    heading_deg: int
    length: int
    depth: int

    def at(self, along: int, height: int = 2000) -> Pose:
        """Return the pose of a unit on the wall, `along` it from the left end as a unit sees it."""
        start = Pose(*self.left, self.heading_deg * 1000)
        x, y = onto_plan((along, 0), start)
        return Pose(x, y, self.heading_deg * 1000, height_mm=height)


def walls(room: Room) -> list[Wall]:
    """Return the four walls of a rectangular room."""
    x0, y0, x1, y1 = bounds(room.outline_mm)
    wide, deep = x1 - x0, y1 - y0
    return [
        Wall((x0, y1), 0, deep, wide),
        Wall((x0, y0), 90, wide, deep),
        Wall((x1, y0), 180, deep, wide),
        Wall((x1, y1), 270, wide, deep),
    ]


def corner_pose(room: Room, dice: random.Random, height: int = 1900) -> Pose:
    """Return a pose in a corner from which the whole room lies open, at 45°."""
    x0, y0, x1, y1 = bounds(room.outline_mm)
    corners = {(x0, y0): 45, (x1, y0): 135, (x1, y1): 225, (x0, y1): 315}
    missing = [corner for corner in corners if corner not in room.outline_mm]
    if missing:  # an L is open from the corner across from the one that it lacks
        x, y = missing[0]
        place = (x0 + x1 - x, y0 + y1 - y)
    else:
        place = dice.choice(list(corners))
    return Pose(*place, corners[place] * 1000, height_mm=height)


def passage_units(room: Room, dice: random.Random, *, both: bool) -> list[Hung]:
    """Hang a unit on an end wall of a passage, and one more across from it if `both`."""
    ends = [wall for wall in walls(room) if wall.length < wall.depth]
    wall, across = dice.sample(ends, 2)
    half = wall.length // 2
    areas: Areas = (
        ("Way through", AreaKind.WATCH, 200 - half, 500, half - 200, wall.depth // 2),
        (
            "Far end",
            AreaKind.DOORWAY,
            200 - half,
            wall.depth // 2 + 400,
            half - 250,
            wall.depth - 250,
        ),
    )
    units = [Hung("", room.key, T, wall.at(half), areas, hold_time_s=20)]
    if both:
        units.append(Hung("", room.key, T, across.at(half - 250), hold_time_s=20))
    return units


def area_units(room: Room, dice: random.Random) -> list[Hung]:
    """Hang a tracking unit with areas on a wall, and a static unit in a corner."""
    wall = dice.choice([wall for wall in walls(room) if wall.depth >= 3000])
    along = dice.randrange(wall.length * 2 // 5, wall.length * 3 // 5, 50)
    left, right, depth = -along, wall.length - along, wall.depth
    part = dice.randrange(1500, depth - 1100, 50)
    areas: Areas = (
        ("Table", AreaKind.WATCH, left + 350, part, left + 350 + 1250, depth - 300),
        ("Chair", dice.choice((AreaKind.WATCH, AreaKind.IGNORE)), -200, 400, 700, part - 300),
        ("Window seat", AreaKind.WATCH, right - 1150, part + 100, right - 250, depth - 250),
    )
    kept = areas[: dice.choice((2, 3))]
    hold = dice.choice((30, 45, 60))
    return [
        Hung("", room.key, T, wall.at(along), kept, hold_time_s=hold),
        single_unit(room, S, dice),
    ]


def bed_units(room: Room, dice: random.Random) -> tuple[Room, list[Hung]]:
    """Hang a tracking unit in a corner and a vital-sign unit over a bed; return the room with it."""
    door = room.doors[0]
    shut_off = [wall for wall in walls(room) if not _on_wall(wall, door.start_mm)]
    wall = dice.choice(shut_off)
    over_bed = wall.at(wall.length // 2, height=1600)
    bed = tuple(onto_plan(p, over_bed) for p in ((-800, 0), (800, 0), (800, 2000), (-800, 2000)))
    room = replace(room, marks=(*room.marks, Mark(MarkKind.BED, "Bed", bed)))
    return room, [
        Hung("", room.key, T, corner_pose(room, dice, 2000)),
        Hung("", room.key, V, over_bed, hold_time_s=60),
    ]


def _on_wall(wall: Wall, point: Point) -> bool:
    x, y = wall.left
    return point[0] == x if wall.heading_deg in (0, 180) else point[1] == y


def single_unit(room: Room, kind: ModuleType, dice: random.Random) -> Hung:
    """Hang one unit in a corner of a room, set to a distance that any module but V can see."""
    return Hung("", room.key, kind, corner_pose(room, dice), max_distance_mm=RANGE_MM[T])


@dataclass(frozen=True, slots=True)
class Hanging:
    """The rooms, furnished; the units as scheduled; the rooms where one unit alone hangs in a corner."""

    rooms: tuple[Room, ...]
    units: tuple[Hung, ...]
    lone: frozenset[str]

    def room(self, key: str) -> Room:
        """Return the room of a key."""
        return next(room for room in self.rooms if room.key == key)

    def mates(self, unit: Hung) -> list[Hung]:
        """Return all units of a unit's room."""
        return [other for other in self.units if other.room == unit.room]


def hang(rooms: tuple[Room, ...], dice: random.Random) -> Hanging | None:
    """Hang fourteen units in ten rooms; None where these rooms don't offer the places."""
    passages = [room for room in rooms if room.kind is RoomKind.CIRCULATION]
    roomy = [room for room in rooms if is_rectangle(room) and room not in passages]
    beds = [room for room in roomy if room.kind is RoomKind.BEDROOM]
    wide = [room for room in roomy if _least_side(room) >= 3100]
    if not beds or len(wide) < 3:
        return None
    sleeping = dice.choice(beds)
    shared = dice.sample([room for room in wide if room is not sleeping], 2)
    lone = [room for room in rooms if room not in (*passages, *shared, sleeping)]
    first = dice.randrange(2)
    units = passage_units(passages[first], dice, both=False)
    units += passage_units(passages[1 - first], dice, both=True)
    for room in shared:
        units += area_units(room, dice)
    furnished, over_bed = bed_units(sleeping, dice)
    units += over_bed
    kinds = [S, S, T, T, dice.choice((S, T))]
    dice.shuffle(kinds)
    units += [single_unit(room, kind, dice) for room, kind in zip(lone, kinds, strict=True)]
    dice.shuffle(units)
    sign, start = dice.choice("ABDKQX"), dice.choice((1, 11, 21))
    labelled = tuple(
        replace(unit, label=f"{sign}-{number:02d}") for number, unit in enumerate(units, start)
    )
    kept = tuple(furnished if room is sleeping else room for room in rooms)
    return Hanging(kept, labelled, frozenset(room.key for room in lone))


def _least_side(room: Room) -> int:
    x0, y0, x1, y1 = bounds(room.outline_mm)
    return min(x1 - x0, y1 - y0)

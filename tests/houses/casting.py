"""Which unit and which room of a made house carries which fault."""

import itertools
import random
from collections.abc import Callable
from dataclasses import dataclass

from fleet.model.geometry import Point
from fleet.model.house import ModuleType, Room, RoomKind
from tests.houses.hanging import Hanging
from tests.houses.house import Hung, S, T
from tests.houses.layout import is_rectangle
from tests.houses.sight import images_seen, lap_points, share_seen, through_wall

LEAST_MIRROR_MM, MOST_MIRROR_MM = 1300, 2200
LEAST_SHARE_THROUGH_WALL = 0.42
LEAST_SHARE_IN_MIRROR = 0.35
Fits = Callable[[Hung, list[Hung]], bool]


@dataclass(frozen=True, slots=True)
class Leak:
    """A wall to be made leaky: its middle line, and the share of the lap behind it in view."""

    start: Point
    end: Point
    share: float


@dataclass(frozen=True, slots=True)
class Placed:
    """The parts that need a fitting place: a leaky wall, a mirror, two units of one kind."""

    bleed: Hung
    leak: Leak
    crossed: tuple[Hung, Hung]
    ghost: Hung
    mirror: tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Cast:
    """Who carries what; every unit at most one fault but the two of the old build."""

    placed: Placed
    past_wall: Hung
    mirrored: Hung
    swapped: Hung
    sitter: Hung
    setting: Hung
    build: Hung
    link: Hung
    soak: Hung
    unsigned: Room


def cast(hanging: Hanging, dice: random.Random) -> Cast | None:
    """Choose who carries what; None where this house has nobody for a part."""
    placed = _placed(hanging, dice)
    if placed is None:
        return None
    free = [
        unit for unit in hanging.units if unit not in (placed.bleed, placed.ghost, *placed.crossed)
    ]
    # a module in a mirrored or haunted room that tells less than planned would hide that fault
    parts = _chosen(
        dice,
        free,
        [
            lambda unit, _: bool(unit.areas),
            lambda unit, _: unit.module_type is T and not _in_passage(hanging, unit),
            lambda unit, chosen: (
                _swaps(unit) and unit.room not in (chosen[1].room, placed.ghost.room)
            ),
            lambda unit, _: unit.module_type is S,
            *[lambda *_: True] * 4,
        ],
    )
    if parts is None:
        return None
    past_wall, mirrored, swapped, sitter, setting, build, link, soak = parts
    return Cast(
        placed,
        past_wall,
        mirrored,
        swapped,
        sitter,
        setting,
        build,
        link,
        soak,
        unsigned=dice.choice(hanging.rooms),
    )


def _chosen(dice: random.Random, free: list[Hung], tests: list[Fits]) -> list[Hung] | None:
    """Choose a unit for each test, none twice; a test is also told who was chosen before."""
    chosen: list[Hung] = []
    for fits in tests:
        found = [unit for unit in free if unit not in chosen and fits(unit, chosen)]
        if not found:
            return None
        chosen.append(dice.choice(found))
    return chosen


def _swaps(unit: Hung) -> bool:
    return not unit.areas and unit.module_type in (T, S)


def _placed(hanging: Hanging, dice: random.Random) -> Placed | None:
    lone = [unit for unit in hanging.units if unit.room in hanging.lone]
    leaks = [(unit, leak) for unit in lone for leak in leaks_of(hanging, unit)]
    mirrors = [(unit, line) for unit in hanging.units for line in mirrors_of(hanging, unit)]
    if not leaks or not mirrors:
        return None
    bleed, leak = dice.choice(leaks)
    pairs = [
        (one, other)
        for one, other in itertools.combinations(lone, 2)
        if bleed not in (one, other) and one.module_type is other.module_type
    ]
    ghost, mirror = dice.choice(mirrors)
    return Placed(bleed, leak, dice.choice(pairs), ghost, mirror) if pairs else None


def _in_passage(hanging: Hanging, unit: Hung) -> bool:
    return hanging.room(unit.room).kind is RoomKind.CIRCULATION


def leaks_of(hanging: Hanging, unit: Hung) -> list[Leak]:
    """List the walls through which a static unit alone in a room would see much of a lap."""
    home = hanging.room(unit.room)
    if unit.module_type is not S or not is_rectangle(home):
        return []
    leaks: list[Leak] = []
    for room in hanging.rooms:
        if room.floor != home.floor or room is home or not is_rectangle(room):
            continue
        wall = through_wall(home.outline_mm, room.outline_mm)
        if wall is None:
            continue
        (start, end), space = wall
        share = share_seen([(unit.pose, ModuleType.STATIC)], lap_points(room.outline_mm), space)
        if share >= LEAST_SHARE_THROUGH_WALL:
            leaks.append(Leak(start, end, share))
    return leaks


def mirrors_of(hanging: Hanging, unit: Hung) -> list[tuple[Point, Point]]:
    """List door-free stretches of the long walls of a passage with a single tracking unit."""
    room = hanging.room(unit.room)
    if not _in_passage(hanging, unit) or len(hanging.mates(unit)) > 1:
        return []
    axis = 0 if unit.pose.heading_mdeg in (0, 180_000) else 1
    place = (unit.pose.x_mm, unit.pose.y_mm)
    away = 1 if unit.pose.heading_mdeg in (0, 90_000) else -1
    found: list[tuple[Point, Point]] = []
    for face in sorted({corner[1 - axis] for corner in room.outline_mm}):
        doors = [
            tuple(sorted(away * (end[axis] - place[axis]) for end in (door.start_mm, door.end_mm)))
            for door in room.doors
            if door.start_mm[1 - axis] == face == door.end_mm[1 - axis]
        ]
        for start, end in _stretches(sorted(doors), 800, 3600):
            line = [place[axis] + away * along for along in (start, end)]
            ends = [(at, face) if axis == 0 else (face, at) for at in line]
            found.append((ends[0], ends[1]))
    lap = len(lap_points(room.outline_mm))
    return [
        glass
        for glass in found
        if len(images_seen(unit.pose, room.outline_mm, glass)) >= LEAST_SHARE_IN_MIRROR * lap
    ]


def _stretches(doors: list[tuple[int, ...]], start: int, end: int) -> list[tuple[int, int]]:
    edges = [start, *(edge for low, high in doors for edge in (low - 100, high + 100)), end]
    spans = zip(edges[::2], edges[1::2], strict=True)
    clipped = [(max(low, start), min(high, end)) for low, high in spans]
    return [
        (low, min(high, low + MOST_MIRROR_MM))
        for low, high in clipped
        if high - low >= LEAST_MIRROR_MM
    ]

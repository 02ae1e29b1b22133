"""Stage directions: what the requests of the stage port mean, and what they do to the house."""

from dataclasses import dataclass
from typing import Literal

import msgspec

from fleet.simulator.people import Person, Stop, route_of
from fleet.simulator.world import World


class Spot(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A point of a route in mm on the floor's plan, and how long to stay there."""

    at_mm: tuple[float, float]
    dwell_s: float = 0.0


class Walk(msgspec.Struct, frozen=True, tag_field="do", tag="walk", forbid_unknown_fields=True):
    """Somebody follows a route; `start` "here" insists that they are in the house already."""

    id: int
    person: str
    floor: str
    route: tuple[Spot, ...]
    speed_mm_s: float = 1200.0
    start: Literal["here", ""] = msgspec.field(name="from", default="")


class Sit(msgspec.Struct, frozen=True, tag_field="do", tag="sit", forbid_unknown_fields=True):
    """Somebody sits where they are; it is done after `seconds`, and they stay sitting."""

    id: int
    person: str
    seconds: float = 0.0


class Leave(msgspec.Struct, frozen=True, tag_field="do", tag="leave", forbid_unknown_fields=True):
    """Somebody leaves the house at once."""

    id: int
    person: str


class Doors(msgspec.Struct, frozen=True, tag_field="do", tag="doors", forbid_unknown_fields=True):
    """The doors of a room, or all of the house, are opened or shut."""

    id: int
    open: bool
    room: str | None = None


Direction = Walk | Sit | Leave | Doors


@dataclass(frozen=True, slots=True)
class Begun:
    """A direction that has begun: whom it is for, and the tick at which it is done."""

    person: str
    done_tick: int


class NotPossibleError(Exception):
    """A direction asks for what can't be; nothing was changed."""


def read_direction(line: bytes) -> Direction:
    """Read a request.

    Raises:
        NotPossibleError: it is no direction.
    """
    try:
        direction: Direction = msgspec.json.decode(line, type=Direction)
    except (msgspec.DecodeError, RecursionError) as reason:
        raise NotPossibleError(str(reason)) from reason
    return direction


def begin(world: World, direction: Direction, tick: int) -> Begun:
    """Begin a direction at a tick of the house.

    Raises:
        NotPossibleError: somebody or something that it names isn't there.
    """
    match direction:
        case Walk():
            begun = _walk(world, direction, tick)
        case Sit():
            begun = _sit(world, direction, tick)
        case Leave():
            if world.people.pop(direction.person, None) is None:
                raise NotPossibleError(f"{direction.person} is not in the house")
            begun = Begun(direction.person, tick)
        case Doors():
            begun = _doors(world, direction, tick)
    world.directions += 1
    return begun


def _walk(world: World, walk: Walk, tick: int) -> Begun:
    if not walk.route or walk.speed_mm_s <= 0:
        raise NotPossibleError("a walk needs a point to go to and a speed above 0")
    if walk.floor not in {floor.key for floor in world.plan.floors}:
        raise NotPossibleError(f"there is no floor {walk.floor!r}")
    now = world.people.get(walk.person)
    if walk.start and now is None:
        raise NotPossibleError(f"{walk.person} is not in the house")
    here = now.place_at(tick) if now and now.floor == walk.floor else None
    legs = route_of(here, [Stop(s.at_mm, s.dwell_s) for s in walk.route], walk.speed_mm_s)
    return _set(world, walk.person, Person(_number(world, walk.person), walk.floor, tick, legs))


def _sit(world: World, sit: Sit, tick: int) -> Begun:
    now = world.people.get(sit.person)
    if now is None:
        raise NotPossibleError(f"{sit.person} is not in the house")
    return _set(world, sit.person, now.seated(tick, sit.seconds))


def _doors(world: World, doors: Doors, tick: int) -> Begun:
    rooms = {room.key for room in world.plan.rooms}
    named = rooms if doors.room is None else {doors.room}
    if not named <= rooms:
        raise NotPossibleError(f"there is no room {doors.room!r}")
    opened = world.open_rooms | named if doors.open else world.open_rooms - named
    world.open_rooms = frozenset(opened)
    return Begun("", tick)


def _set(world: World, name: str, person: Person) -> Begun:
    world.people[name] = person
    return Begun(name, person.ends_tick)


def _number(world: World, name: str) -> int:
    """Return a number that tells a person from the others in the house."""
    now = world.people.get(name)
    taken = {person.number for person in world.people.values()}
    return now.number if now else next(n for n in range(len(taken) + 1) if n not in taken)

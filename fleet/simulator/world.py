"""The house as a whole: its units, the people in it, its doors, one tick after another."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fleet.model.house import HousePlan, Room
from fleet.simulator.figures import figures_of
from fleet.simulator.lines import Line, distance_to, edges_of, line_of, pulled_inside, view_of
from fleet.simulator.people import Person
from fleet.simulator.radar import Body, Eye
from fleet.simulator.truth import TrueUnit, Truth
from fleet.simulator.unit import SimulatedUnit, unit_of


@dataclass(slots=True)
class World:
    """The state of a house.

    Attributes:
        plan: its rooms.
        units: every unit with the key of its floor.
        people: who is in the house, by name.
        open_rooms: keys of the rooms whose doors stand open.
        directions: how many stage directions there were.
        tick: number of the last tick lived.
    """

    plan: HousePlan
    units: tuple[tuple[str, SimulatedUnit], ...]
    people: dict[str, Person] = field(default_factory=dict)
    open_rooms: frozenset[str] = frozenset()
    directions: int = 0
    tick: int = -1

    def step(self, tick: int, time: str) -> None:
        """Live one tenth of a second, whose house time is given in RFC 3339."""
        self.tick = tick
        bodies: dict[str, list[Body]] = defaultdict(list)
        for person in self.people.values():
            bodies[person.floor].append(person.body_at(tick))
        openings = self._openings() if bodies else {}
        for floor, unit in self.units:
            unit.tick(tick, time, self.directions, bodies.get(floor, ()), openings.get(floor, ()))

    def _openings(self) -> Mapping[str, Sequence[Line]]:
        openings: dict[str, list[Line]] = defaultdict(list)
        if self.open_rooms:
            for room in self.plan.rooms:
                if room.key in self.open_rooms:
                    openings[room.floor].extend(line_of(door) for door in room.doors)
        return openings


def world_of(plan: HousePlan, truth: Truth, seed: int) -> World:
    """Make a house with nobody in it and its doors shut."""
    rooms = {room.key: room for room in plan.rooms}
    units = tuple(
        (rooms[unit.room].floor, unit_of(unit, eye_of(unit, rooms, truth), seed))
        for unit in truth.units
    )
    return World(plan, units)


def eye_of(unit: TrueUnit, rooms: Mapping[str, Room], truth: Truth) -> Eye:
    """Work out what is fixed about a unit's radar: its view and what stands around it."""
    room, figures = rooms[unit.room], figures_of(unit.module_type)
    view = view_of(unit.pose)
    leaks = [
        leak
        for leak in truth.leaky_walls
        if leak.floor == room.floor and leak.seen_from == room.key
    ]
    mirrors = [mirror for mirror in truth.mirrors if mirror.floor == room.floor]
    gaps = {sitter.room: sitter.longest_gap_s for sitter in truth.sitters}
    lost_s = 0 if figures.breathing else gaps.get(room.key, figures.loses_sitter_s)
    return Eye(
        view=view,
        place=pulled_inside(room.outline_mm, view.x, view.y),
        figures=figures,
        walls=_walls_near(rooms, room.floor, view.x, view.y, figures.range_mm),
        leaks=tuple(line_of(leak.segment) for leak in leaks),
        leak_ppm=tuple(leak.pass_ppm for leak in leaks),
        mirrors=tuple(line_of(mirror.segment) for mirror in mirrors),
        mirror_ppm=tuple(mirror.seen_ppm for mirror in mirrors),
        gap_s=lost_s,
    )


def _walls_near(
    rooms: Mapping[str, Room], floor: str, x: float, y: float, reach_mm: float
) -> tuple[Line, ...]:
    """Return the wall faces within reach, nearest first: those hide most."""
    edges = [
        edge for room in rooms.values() if room.floor == floor for edge in edges_of(room.outline_mm)
    ]
    near = [edge for edge in edges if distance_to(edge, x, y) <= reach_mm]
    return tuple(sorted(near, key=lambda edge: distance_to(edge, x, y)))

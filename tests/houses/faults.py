"""What can be wrong in a house, each as a change of one house into another."""

from collections.abc import Callable
from dataclasses import replace

from fleet.model.geometry import Point, Segment
from fleet.model.house import Mark, MarkKind, ModuleType, PlannedUnit
from fleet.model.sheets import Area
from fleet.simulator.truth import Fan, LeakyWall, Mirror, Sitter, TrueUnit
from tests.houses.house import House, true_build


def planned(house: House, label: str) -> PlannedUnit:
    """Return the line of the schedule with this label."""
    return next(unit for unit in house.plan.units if unit.label == label)


def _floor_of(house: House, room: str) -> str:
    return next(place.floor for place in house.plan.rooms if place.key == room)


def _true(house: House, label: str, change: Callable[[TrueUnit], TrueUnit]) -> House:
    serial = planned(house, label).serial
    units = tuple(change(unit) if unit.serial == serial else unit for unit in house.truth.units)
    return replace(house, truth=replace(house.truth, units=units))


# Before the earlier visit ---------------------------------------------------------------------


def area_past_wall(house: House, label: str, area_key: str, far_mm: int) -> House:
    """The unit's area reaches `far_mm` away from it, past the wall; the plan keeps it inside."""

    def reach(area: Area) -> Area:
        top = max(y for _, y in area.outline_mm)
        corners = tuple((x, far_mm if y == top else y) for x, y in area.outline_mm)
        return replace(area, outline_mm=corners) if area.key == area_key else area

    return _true(house, label, lambda unit: replace(unit, areas=tuple(map(reach, unit.areas))))


def build_behind(house: House, label: str, behind: int, module_firmware: str) -> House:
    """The unit runs an old build, and its module's firmware is not in the table of matches."""

    def age(unit: TrueUnit) -> TrueUnit:
        build = true_build(unit.hardware_revision, unit.module_type, house.versions, behind)
        return replace(unit, build=build, module_firmware=module_firmware)

    return _true(house, label, age)


# At the earlier visit ---------------------------------------------------------------------------


def unsigned(house: House, room: str) -> House:
    """All items of the room were shown, and nobody accepted it."""
    visit = house.plan.visits[-1]
    rooms = tuple(
        replace(seen, shown=(*seen.shown, *seen.open), open=(), signature=None)
        if seen.room == room
        else seen
        for seen in visit.rooms
    )
    return replace(house, plan=replace(house.plan, visits=(replace(visit, rooms=rooms),)))


# Since then -------------------------------------------------------------------------------------


def setting_changed(house: House, label: str, name: str, value: int) -> House:
    """Somebody changed a setting on site."""
    return _true(house, label, lambda unit: replace(unit, settings={**unit.settings, name: value}))


def module_swapped(house: House, label: str, kind: ModuleType, firmware: str) -> House:
    """Another module is in the unit, running the build that is approved for it."""

    def swap(unit: TrueUnit) -> TrueUnit:
        build = true_build(unit.hardware_revision, kind, house.versions, 0)
        return replace(
            unit, module_type=kind, module_firmware=firmware, build=build, areas=(), area_revision=1
        )

    return _true(house, label, swap)


def weak_link(house: House, label: str, signal_dbm: int, lost_ppm: int) -> House:
    """The unit hardly reaches the network."""
    return _true(house, label, lambda unit: replace(unit, signal_dbm=signal_dbm, lost_ppm=lost_ppm))


def upside_down(house: House, label: str) -> House:
    """The unit hangs turned over."""
    return _true(house, label, lambda unit: replace(unit, pose=unit.pose.mirrored()))


def labels_crossed(house: House, first: str, second: str) -> House:
    """Two units of one kind hang in each other's places."""
    one, other = planned(house, first), planned(house, second)
    swapped = _true(house, first, lambda unit: replace(unit, room=other.room, pose=other.pose))
    return _true(swapped, second, lambda unit: replace(unit, room=one.room, pose=one.pose))


def mirror_in(house: House, room: str, start: Point, end: Point, seen_ppm: int) -> House:
    """A mirror hangs on a wall of the room; the installer knows it as furniture."""
    mark = Mark(MarkKind.MIRROR, "Long mirror", (start, end))
    rooms = tuple(
        replace(place, marks=(*place.marks, mark)) if place.key == room else place
        for place in house.plan.rooms
    )
    mirror = Mirror(_floor_of(house, room), Segment(start, end), seen_ppm)
    truth = replace(house.truth, mirrors=(*house.truth.mirrors, mirror))
    return replace(house, plan=replace(house.plan, rooms=rooms), truth=truth)


def leaky_wall(house: House, seen_from: str, start: Point, end: Point, pass_ppm: int) -> House:
    """Units of a room see through a piece of its wall."""
    wall = LeakyWall(_floor_of(house, seen_from), Segment(start, end), seen_from, pass_ppm)
    return replace(house, truth=replace(house.truth, leaky_walls=(*house.truth.leaky_walls, wall)))


def fan_in(house: House, room: str, at_mm: Point) -> House:
    """A ceiling fan hangs in the room, off; it stands in the plan too."""
    mark = Mark(MarkKind.FAN, "Ceiling fan", (at_mm,))
    rooms = tuple(
        replace(place, marks=(*place.marks, mark)) if place.key == room else place
        for place in house.plan.rooms
    )
    truth = replace(house.truth, fans=(*house.truth.fans, Fan(_floor_of(house, room), at_mm)))
    return replace(house, plan=replace(house.plan, rooms=rooms), truth=truth)


def still_sitter(house: House, room: str, longest_gap_s: int) -> House:
    """Somebody in the room can keep still for so long."""
    sitter = Sitter(room, longest_gap_s)
    return replace(house, truth=replace(house.truth, sitters=(*house.truth.sitters, sitter)))

"""Whether somebody is there, from the reports of one unit and its areas.

1. Two reports within 0.4 s start occupancy, the hold time after the last one ends it.
2. With any watch area only targets in one count. Without, every target counts.
3. A target in a doorway area, and in no watch area, never starts it by itself.
4. A target in an ignore area counts nowhere.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from fleet.model.sheets import Area, AreaKind
from fleet.simulator.figures import TICKS_A_SECOND
from fleet.simulator.radar import Target
from fleet.simulator.rules import Rectangle, rectangle_of

START_WITHIN_TICKS = 4
_NEVER = -1_000_000


@dataclass(slots=True)
class Presence:
    """Occupancy of one area, or of the whole view."""

    occupied: bool = False
    count: int = 0
    last_tick: int = _NEVER

    def step(self, tick: int, count: int, hold_s: int) -> bool:
        """Take in one report; return whether occupancy changed."""
        before, self.count = self.occupied, count
        if count:
            self.occupied = before or tick - self.last_tick <= START_WITHIN_TICKS
            self.last_tick = tick
        elif before and tick - self.last_tick >= hold_s * TICKS_A_SECOND:
            self.occupied = False
        return self.occupied != before


@dataclass(slots=True)
class Occupancy:
    """Occupancy of a unit's view and of its areas."""

    areas: tuple[Area, ...] = ()
    overall: Presence = field(default_factory=Presence)
    each: dict[str, Presence] = field(default_factory=dict)
    _shapes: tuple[tuple[Area, Rectangle], ...] = ()
    _watches: bool = False

    def set_areas(self, areas: tuple[Area, ...]) -> None:
        """Take another area set; areas start empty."""
        self.areas = areas
        self.each = {area.key: Presence() for area in areas}
        self._shapes = tuple((area, shape) for area in areas if (shape := _shape(area)))
        self._watches = any(area.kind is AreaKind.WATCH for area in areas)

    def step(self, tick: int, targets: Sequence[Target], hold_s: int) -> bool:
        """Take in one report; return whether anything started or ended."""
        if not targets and not self.overall.occupied and not self._any_area_occupied():
            return False
        counts = dict.fromkeys(self.each, 0)
        overall = sum(self._counts(target, counts) for target in targets)
        changed = self.overall.step(tick, overall, hold_s)
        for key, presence in self.each.items():
            changed |= presence.step(tick, counts[key], hold_s)
        return changed

    def _any_area_occupied(self) -> bool:
        return any(presence.occupied or presence.count for presence in self.each.values())

    def _counts(self, target: Target, counts: dict[str, int]) -> bool:
        """Count a target into its areas; return whether it counts overall."""
        inside = [area for area, shape in self._shapes if _within(shape, target)]
        kinds = {area.kind for area in inside}
        if AreaKind.IGNORE in kinds:
            return False
        for area in inside:
            counts[area.key] += 1
        if AreaKind.WATCH in kinds:
            return True
        return not self._watches and AreaKind.DOORWAY not in kinds


def _shape(area: Area) -> Rectangle | None:
    return rectangle_of(area.outline_mm)


def _within(shape: Rectangle, target: Target) -> bool:
    left, near, right, far = shape
    return left <= target.x_mm <= right and near <= target.y_mm <= far

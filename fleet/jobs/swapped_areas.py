"""Areas of one unit carried over to another one, or to another module: by the plan, not by numbers.

1. An area is known by the floor that it covers on the plan. What a person decided in the old unit's view
   is carried onto the plan by the old mount first, so that a new one that hangs otherwise holds the same.
2. What the new one can't hold in its coordinates (beyond its range, behind it) is cut off. What it can hold
   but not see stays, and is said: a plan isn't redrawn because a unit sees less.
3. An area of which it sees nothing is dropped, and so are those above its number; a person may choose.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from fleet.jobs.areas import area_in_view, outline_on_plan
from fleet.model.geometry import Outline, Pose
from fleet.model.sheets import Area, areas_of, outline_from_text
from fleet.model.templates import Decision
from fleet.model.units import Unit
from fleet.numerics.frames import to_sensor

Capabilities = Mapping[str, int | str | bool | float]

SEEN_AT_LEAST = 0.01
"""Less of an area than this is none of it: rounding to whole mm leaves slivers."""

TOLD_FROM = 0.02
"""A share of an area below this isn't worth a sentence."""

EDGE_MM = 2
"""A cut stays so far inside the range, since the corners are rounded twice on their way back."""

FULL_TURN_DEG, ARC_PIECES = 360, 64
MOST = 1_000_000  # farther than any unit looks; what says more says nothing
FEWEST_CORNERS = 3


@dataclass(frozen=True, slots=True)
class CarriedArea:
    """What becomes of one area.

    Attributes:
        key: its id; label: its name.
        area: as the plan holds it from now on, plan frame; None where it is dropped.
        whole: it is carried without loss.
        reason: what is said of it, in words.
        crowded_out: it is dropped only because the new one holds fewer areas.
    """

    key: str
    label: str
    area: Area | None
    whole: bool
    reason: str
    crowded_out: bool = False


def drawn_areas(unit: Unit, decisions: Mapping[str, Decision]) -> tuple[Area, ...]:
    """Return a unit's planned areas on the plan, in the order of the schedule, then by id.

    Args:
        unit: with its sheet planned.
        decisions: what a person decided about it, which the sheet holds already.

    Raises:
        PlanError: a decided outline or kind is none.
    """
    drawn = {area.key: area for area in unit.line.areas}
    planned = {area.key: area for area in areas_of(unit.planned) if area.outline_mm}
    keys = [key for key in drawn if key in planned] + [key for key in planned if key not in drawn]
    return tuple(
        replace(planned[key], outline_mm=_on_plan(key, drawn, decisions, unit)) for key in keys
    )


def carry_areas(
    areas: Sequence[Area],
    pose: Pose,
    capabilities: Capabilities,
    *,
    before: Pose,
    chosen: Sequence[str] = (),
) -> tuple[CarriedArea, ...]:
    """Say what becomes of each area in the view of a new unit or module.

    Args:
        areas: plan frame.
        pose: how the new one is fixed.
        capabilities: what it says it can do; what it doesn't say limits nothing.
        before: how the old one was fixed.
        chosen: ids of areas that a person wants kept first where not all fit.
    """
    fitted = [_fitted(area, pose, capabilities, before) for area in areas]
    room_for = number_of(capabilities, "max_areas")
    if room_for is None:
        return tuple(fitted)
    whole = [one.key for one in fitted if one.area is not None]
    ranked = [key for key in chosen if key in whole] + [key for key in whole if key not in chosen]
    kept = set(ranked[: round(room_for)])
    return tuple(
        one if one.area is None or one.key in kept else _too_many(one, round(room_for))
        for one in fitted
    )


def number_of(capabilities: Capabilities, name: str) -> float | None:
    """Return a figure that a unit says of itself; None where it says none."""
    said = capabilities.get(name)
    usable = isinstance(said, int | float) and not isinstance(said, bool) and 0 <= said <= MOST
    return float(said) if usable and said is not None else None


def seen_share(area: Area, pose: Pose, capabilities: Capabilities) -> float:
    """Return the share of an area's floor within range and field of view; 1 where neither is said."""
    shape = _in_view(area.outline_mm, pose)
    return float(shape.intersection(_wedge(capabilities)).area / shape.area) if shape.area else 0.0


def _on_plan(
    key: str, drawn: Mapping[str, Area], decisions: Mapping[str, Decision], unit: Unit
) -> Outline:
    decided = decisions.get(f"areas.{key}.outline")
    if key in drawn and (decided is None or decided.value is None):
        return drawn[key].outline_mm
    held = unit.planned[f"areas.{key}.outline"]
    return outline_on_plan(outline_from_text(str(held)), unit.line.pose)


def _fitted(area: Area, pose: Pose, capabilities: Capabilities, before: Pose) -> CarriedArea:
    if len(area.outline_mm) < FEWEST_CORNERS:
        return _dropped(area, "it has fewer than three corners")
    share = seen_share(area, pose, capabilities)
    if share < SEEN_AT_LEAST:
        return _dropped(area, "the new one sees nothing of it from there")
    cut, lost = _cut(area, pose, capabilities)
    if cut is None:
        return _dropped(area, "all of it lies beyond its coordinates")
    said = []
    if lost:
        said.append(f"{lost:.0%} of it is cut off: beyond the new one's coordinates")
    if share < 1 - TOLD_FROM:
        said.append(f"the new one sees {share:.0%} of it")
    wider = _widening(cut, pose) - _widening(area, before)
    if wider > TOLD_FROM:
        said.append(f"as a rectangle in the new view it is {wider:.0%} wider than before")
    moved = "its floor stays, re-projected" if pose != before else "its floor stays"
    return CarriedArea(area.key, area.label, cut, not said, "; ".join(said) or moved)


def _too_many(one: CarriedArea, room_for: int) -> CarriedArea:
    held = f"{room_for} area" if room_for == 1 else f"{room_for} areas"
    reason = f"the new one holds {held} at most"
    return replace(one, area=None, whole=False, reason=reason, crowded_out=True)


def _dropped(area: Area, reason: str) -> CarriedArea:
    return CarriedArea(area.key, area.label, None, whole=False, reason=reason)


def _in_view(outline_mm: Outline, pose: Pose) -> BaseGeometry:
    corners = to_sensor(np.array(outline_mm, dtype=np.float64), pose)
    shape = shapely.Polygon(corners)
    return shape if shape.is_valid else shapely.make_valid(shape)


def _wedge(capabilities: Capabilities) -> BaseGeometry:
    """Return what a unit sees in its own view; far and all round where it doesn't say."""
    reach = number_of(capabilities, "max_range_mm")
    width = number_of(capabilities, "horizontal_field_of_view_deg")
    far_mm = MOST if reach is None else reach
    wide = FULL_TURN_DEG if width is None else min(width, FULL_TURN_DEG)
    # The arc's chords touch the circle from outside, so that the edge of the range counts as seen.
    out_mm = far_mm / np.cos(np.radians(wide / ARC_PIECES / 2))
    turns = np.radians(np.linspace(-wide / 2, wide / 2, ARC_PIECES + 1))
    arc = [(out_mm * np.sin(turn), out_mm * np.cos(turn)) for turn in turns]
    return shapely.Polygon(arc if wide == FULL_TURN_DEG else [(0.0, 0.0), *arc]).buffer(1)


def _cut(area: Area, pose: Pose, capabilities: Capabilities) -> tuple[Area | None, float]:
    """Cut an area to the coordinates that a unit of some range takes; return it and the share lost."""
    reach = number_of(capabilities, "max_range_mm")
    shape = _in_view(area.outline_mm, pose)
    if reach is None or _within(area_in_view(area, pose).outline_mm, reach):
        return area, 0.0
    inside = shape.intersection(
        shapely.box(EDGE_MM - reach, EDGE_MM, reach - EDGE_MM, reach - EDGE_MM)
    )
    pieces = [one for one in shapely.get_parts(inside) if isinstance(one, shapely.Polygon)]
    piece = max(pieces, key=lambda one: one.area, default=None)
    if piece is None or not piece.area:
        return None, 1.0
    corners = tuple((round(x), round(y)) for x, y in piece.exterior.coords[:-1])
    return replace(area, outline_mm=outline_on_plan(corners, pose)), 1 - piece.area / shape.area


def _within(outline_mm: Outline, reach_mm: float) -> bool:
    return all(abs(x) <= reach_mm and 0 <= y <= reach_mm for x, y in outline_mm)


def _widening(area: Area, pose: Pose) -> float:
    """Return how much more floor the rectangle that a unit holds covers than the area drawn, as a share."""
    drawn = _in_view(area.outline_mm, pose).area
    held = shapely.Polygon(area_in_view(area, pose).outline_mm).area
    return float(held / drawn - 1) if drawn else 0.0

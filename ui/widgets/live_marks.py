"""What is drawn of the units' reports at this moment, before it is known where on the screen.

Values older than two seconds are marked old; a held track is told from a moving one, and one beyond the
walls of its unit's room says how far. Nothing here knows of Qt.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from fleet.drawing.primitives import Spot
from fleet.drawing.views import range_arc
from fleet.model.errors import PlanError
from fleet.model.geometry import Outline, Point
from fleet.model.snapshot import HouseState, LiveUnit, TrackView
from fleet.model.units import Unit
from fleet.numerics.outlines import distance_outside_mm
from ui.presenters.words import age_words, is_old

WALKING_MM_S = 300
"""Slower than this a body sways on the spot."""


class MarkShape(StrEnum):
    """How a report is drawn."""

    MOVING = "filled dot"
    HELD = "square"
    OUTSIDE = "crossed circle"
    RANGE = "arc"
    RAW = "small cross"


@dataclass(frozen=True, slots=True)
class LiveMark:
    """One thing to draw.

    Attributes:
        shape: how.
        at_mm: where on the plan; for an arc where its words stand.
        old: it is no longer so for certain, and looks it.
        lines: words beside it, the first the weightier.
        spread_mm: one standard deviation of the place, 0 where none is known.
        path_mm: the trail, oldest first; of a range the arc.
    """

    shape: MarkShape
    at_mm: Spot
    old: bool
    lines: tuple[str, ...] = ()
    spread_mm: int = 0
    path_mm: tuple[Spot, ...] = ()


HeldFor = Mapping[tuple[str, int], float]
"""Serial and key of a track → house seconds since it was first seen held."""


def marks_of(
    house: HouseState, units: Iterable[Unit], live: Mapping[str, LiveUnit], held_s: HeldFor
) -> list[LiveMark]:
    """Return the marks of some units' reports, raw ones first so that tracks lie above them."""
    outlines = {room.key: room.outline_mm for room in house.plan.rooms}
    marks: list[LiveMark] = []
    for unit in units:
        said = live.get(unit.line.serial)
        if said is not None and said.report_age_s is not None:
            marks += _of_unit(unit, said, outlines.get(unit.line.room, ()), held_s)
    return sorted(marks, key=lambda mark: mark.shape is not MarkShape.RAW)


def _of_unit(unit: Unit, said: LiveUnit, room: Outline, held_s: HeldFor) -> list[LiveMark]:
    old = is_old(said.report_age_s)
    label, age = unit.line.label, _age(said)
    marks = [_range(unit, range_mm, age, old=old) for range_mm in said.ranges_mm]
    if not said.tracks:
        lines = ("was reported" if old else "reported", f"{label} · {age}")
        marks += [LiveMark(MarkShape.MOVING, at, old, lines) for at in said.targets_mm]
        return marks
    marks += [LiveMark(MarkShape.RAW, at, old) for at in said.targets_mm]
    for track in said.tracks:
        held = held_s.get((said.serial, track.key))
        second = f"± {track.spread_mm / 1000:.2f} m · {age}"
        if track.outside:
            marks.append(_outside(track, room, f"{label} · {second}", old=old))
        else:
            lines = (_doing(track, None if old else held, old=old), second)
            shape = MarkShape.HELD if track.held else MarkShape.MOVING
            marks.append(LiveMark(shape, track.at_mm, old, lines, track.spread_mm, track.trail_mm))
    return marks


def _age(said: LiveUnit) -> str:
    age = age_words(said.report_age_s)
    return f"{age} old" if is_old(said.report_age_s) else age


def _doing(track: TrackView, held_s: float | None, *, old: bool) -> str:
    """Say what a body does; of an old report what it did, for nobody knows of now."""
    was = "was " if old else ""
    if track.held:
        return f"{was}still, held" if held_s is None else f"still, held for {held_s:.0f} s"
    speed = f"{track.speed_mm_s / 1000:.1f} m/s"
    return f"{was}{'walking' if track.speed_mm_s >= WALKING_MM_S else 'standing'} {speed}"


def _outside(track: TrackView, room: Outline, second: str, *, old: bool) -> LiveMark:
    past = _past_m(track.at_mm, room)
    where = "past the wall" if past is None else f"{past:.1f} m past the wall"
    first = f"was {where}" if old else where
    return LiveMark(
        MarkShape.OUTSIDE, track.at_mm, old, (first, second), track.spread_mm, track.trail_mm
    )


def _past_m(at: Point, room: Outline) -> float | None:
    try:
        return float(distance_outside_mm(np.array([at], dtype=np.float64), room)[0]) / 1000
    except PlanError:
        return None


def _range(unit: Unit, range_mm: int, age: str, *, old: bool) -> LiveMark:
    arc = range_arc(unit, range_mm).points_mm
    lines = (
        f"{'was ' if old else ''}{range_mm / 1000:.2f} m from {unit.line.label}",
        f"distance only · {age}",
    )
    return LiveMark(MarkShape.RANGE, arc[len(arc) // 2], old, lines, path_mm=arc)


def spoken(marks: Iterable[LiveMark]) -> str:
    """Return the marks in a few words without figures that change at every report."""
    words = [
        f"{mark.shape.value}, {mark.lines[0].rstrip('0123456789. ms/')}" for mark in _said(marks)
    ]
    return "; ".join(dict.fromkeys(words)) or "nobody reported"


def _said(marks: Iterable[LiveMark]) -> list[LiveMark]:
    return [mark for mark in marks if mark.lines]

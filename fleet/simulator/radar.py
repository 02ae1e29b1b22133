"""What a unit's radar makes of the bodies on its floor. Pure: bodies and chance in, targets out.

The model, all of it our own invention:

1. A body in the field of view is reported with a chance that is nearly 1 within 80 % of the range and
   of the half angle, and falls to 0 at their ends. Half of the misses come in runs of half a second.
2. Range is slant, to a point on the body below the unit, seen about 100 mm short (its near side), with
   noise of 50 mm in range and 0.8 degrees in angle, cut off at 2.5 sigma: nothing wild is made up.
3. Walls are opaque and doors shut unless opened. A leak lets a share of half-seconds through, a mirror
   shows a share of half-seconds of a body's image behind it.
4. Somebody who sits still is lost for a while, again and again (`stillness`).
5. Sensitivity shortens the range, MaxDistance cuts reports off; areas never filter them.

Everything random depends on the seed, the unit, the number of the last stage direction and the ticks
since, never on the time of day.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from fleet.simulator.chance import MILLION, share_ppm
from fleet.simulator.figures import HALF_SECOND_TICKS, ModuleFigures
from fleet.simulator.lines import (
    BLOCKED,
    CLEAR,
    Line,
    View,
    crossing,
    image_in,
    way_between,
)
from fleet.simulator.stillness import is_lost

RANGE_SIGMA_MM = 50.0
ANGLE_SIGMA_RAD = math.radians(0.8)
SPEED_SIGMA_MM_S = 30.0
NEAR_SIDE_MM = 100.0
STEADY_SHARE = 0.8
BEST_CHANCE = 0.985
MOST_SIGMAS = 2.5
BEFORE_MIRROR_MM = 100.0

_DROPOUT, _LEAK, _MIRROR = 1, 1000, 2000


@dataclass(frozen=True, slots=True)
class Body:
    """A person as radar meets one: place and speed on the plan, mm and mm/s.

    Attributes:
        number: tells bodies apart in the chances, never reported.
        height: of the point that reflects, mm above the floor.
        still_ticks: ticks since it sat down; None while it stands or walks.
    """

    number: int
    x: float
    y: float
    velocity_x: float
    velocity_y: float
    height: float
    still_ticks: int | None = None


@dataclass(frozen=True, slots=True)
class Eye:
    """A unit's radar with what is fixed about it.

    Attributes:
        view: where it hangs and looks.
        place: the same place pulled off its own wall, from where lines of sight start.
        figures: what its module can do.
        walls: wall faces within its range.
        leaks, leak_ppm: the leaks that it sees out through, and the shares of half-seconds.
        mirrors, mirror_ppm: likewise.
        gap_s: longest time for which it loses somebody who sits still.
    """

    view: View
    place: tuple[float, float]
    figures: ModuleFigures
    walls: tuple[Line, ...]
    leaks: tuple[Line, ...]
    leak_ppm: tuple[int, ...]
    mirrors: tuple[Line, ...]
    mirror_ppm: tuple[int, ...]
    gap_s: int


@dataclass(frozen=True, slots=True)
class Dice:
    """The chances of one unit since the last stage direction: `ticks` after it."""

    key: int
    ticks: int
    noise: Random


@dataclass(frozen=True, slots=True)
class Target:
    """One target of a report, mm and mm/s in the unit's own view."""

    x_mm: int
    y_mm: int
    range_mm: int
    speed_mm_s: int


def targets_seen(
    eye: Eye,
    bodies: Sequence[Body],
    openings: Sequence[Line],
    dice: Dice,
    *,
    max_distance_mm: int,
    sensitivity_percent: int,
) -> list[Target]:
    """Return what the unit reports of these bodies now, nearest first, as many as it can hold."""
    reach = eye.figures.range_mm * min(1.0, 0.6 + 0.8 * sensitivity_percent / 100)
    found: list[Target] = []
    for body in bodies:
        if body.still_ticks is not None and is_lost(eye.gap_s, body.still_ticks, dice.key):
            continue
        sight = _sight(eye, body.x, body.y, body, reach)
        if sight is not None and _reported_directly(eye, body, openings, dice, sight[2]):
            found.append(_measured(sight, dice.noise))
        for index, mirror in enumerate(eye.mirrors):
            found.extend(_image(eye, body, mirror, index, openings, dice, reach))
    kept = [target for target in found if target.range_mm <= max_distance_mm]
    kept.sort(key=lambda target: target.range_mm)
    return kept[: eye.figures.most_targets]


def chance_of(range_share: float, angle_share: float) -> float:
    """Return the chance of a report at these shares of range and half angle."""
    return BEST_CHANCE * _fall(range_share) * _fall(angle_share)


def _fall(share: float) -> float:
    if share <= STEADY_SHARE:
        return 1.0
    late = (share - STEADY_SHARE) / (1 - STEADY_SHARE)
    return max(0.0, 1.0 - late * late)


_Sight = tuple[float, float, float, float]
"""Slant range mm, angle rad (right positive), chance, radial speed mm/s."""


def _sight(eye: Eye, x: float, y: float, body: Body, reach: float) -> _Sight | None:
    """Return how a body at x, y would look without walls, None where it is out of view."""
    view = eye.view
    dx, dy = x - view.x, y - view.y
    drop = view.height - body.height
    slant = math.sqrt(dx * dx + dy * dy + drop * drop)
    if slant >= reach:
        return None
    away = dx * view.away_x + dy * view.away_y
    angle = math.atan2(dx * view.right_x + dy * view.right_y, away)
    half = math.radians(eye.figures.half_angle_mdeg / 1000)
    chance = chance_of(slant / reach, abs(angle) / half)
    if chance <= 0:
        return None
    speed = (dx * body.velocity_x + dy * body.velocity_y) / (slant or 1.0)
    return slant, angle, chance, speed


def _reported_directly(
    eye: Eye, body: Body, openings: Sequence[Line], dice: Dice, chance: float
) -> bool:
    way = way_between(eye.place, (body.x, body.y), eye.walls, openings, eye.leaks)
    if way == BLOCKED:
        return False
    half = dice.ticks // HALF_SECOND_TICKS
    if way != CLEAR and share_ppm(dice.key, _LEAK + way, half) >= eye.leak_ppm[way]:
        return False
    return _comes_through(dice, _DROPOUT + body.number, half, chance)


def _comes_through(dice: Dice, what: int, half: int, chance: float) -> bool:
    """Decide one report: half of the misses fall on whole half-seconds, half on single reports."""
    steady = math.sqrt(chance)
    if share_ppm(dice.key, what, half) >= steady * MILLION:
        return False
    return dice.noise.random() < steady


def _image(
    eye: Eye,
    body: Body,
    mirror: Line,
    index: int,
    openings: Sequence[Line],
    dice: Dice,
    reach: float,
) -> list[Target]:
    """Return the report of a body's mirror image, if the way to it really meets the mirror."""
    x, y = image_in(mirror, body.x, body.y)
    px, py = eye.place
    at = crossing(mirror, px, py, x, y)
    if at is None:
        return []
    length = math.hypot(x - px, y - py) or 1.0
    before = max(0.0, at - BEFORE_MIRROR_MM / length)
    touch = (px + before * (x - px), py + before * (y - py))
    base = image_in(mirror, body.x + body.velocity_x, body.y + body.velocity_y)
    moved = Body(body.number, x, y, base[0] - x, base[1] - y, body.height)
    sight = _sight(eye, x, y, moved, reach)
    if sight is None or _blocked(eye, eye.place, touch, openings):
        return []
    if _blocked(eye, touch, (body.x, body.y), openings):
        return []
    half = dice.ticks // HALF_SECOND_TICKS
    if share_ppm(dice.key, _MIRROR + index, half) >= eye.mirror_ppm[index]:
        return []
    seen = _comes_through(dice, _MIRROR + 100 + body.number, half, sight[2])
    return [_measured(sight, dice.noise)] if seen else []


def _blocked(
    eye: Eye, start: tuple[float, float], end: tuple[float, float], openings: Sequence[Line]
) -> bool:
    return way_between(start, end, eye.walls, openings, ()) == BLOCKED


def _measured(sight: _Sight, noise: Random) -> Target:
    slant, angle, _, speed = sight
    distance = max(1.0, slant - NEAR_SIDE_MM + RANGE_SIGMA_MM * _cut(noise))
    angle += ANGLE_SIGMA_RAD * _cut(noise)
    return Target(
        round(distance * math.sin(angle)),
        round(distance * math.cos(angle)),
        round(distance),
        round(speed + SPEED_SIGMA_MM_S * _cut(noise)),
    )


def _cut(noise: Random) -> float:
    return max(-MOST_SIGMAS, min(MOST_SIGMAS, noise.gauss(0.0, 1.0)))

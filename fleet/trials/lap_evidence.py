"""What a lap proves, as figures that can be stored: the matrix, the mounts and what lay beyond walls.

Values are integers (mm, parts a million), so that they go into evidence and records as they stand.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from fleet.model.errors import PlanError
from fleet.model.geometry import Pose
from fleet.model.house import HousePlan, PlannedUnit
from fleet.numerics.frames import to_floor, to_plan
from fleet.numerics.outlines import distance_outside_mm
from fleet.numerics.pose import RigidFit, fit_both, pose_of
from fleet.numerics.robust import biweight_location
from fleet.trials.lap import RoomWalk, points_at_stands, shares

ACCEPT_RMS_MM = 300
ACCEPT_WORST_MM = 500
NEAR_SIDE_MM = 100  # common practice, no source: radar sees the near side of a body
BODY_HEIGHT_MM = 1100  # common practice, no source: what reflects most of somebody who stands
FEWEST_REPORTS = 8
FEWEST_STANDS = 4
SAME_BODY_MM = 400
BEYOND_MM = 400
SEEN_LEAST_PPM = 50_000
CLEARLY = 2.0


@dataclass(frozen=True, slots=True)
class Mount:
    """How well a unit's view fits the walked points, as planned and turned over; mm.

    Attributes:
        points: marked points that it saw well enough.
        pose: the pose of the fit that passes; None where none or both do.
    """

    points: int
    planned_rms_mm: int
    planned_worst_mm: int
    turned_rms_mm: int
    turned_worst_mm: int
    pose: Pose | None = None

    @property
    def fits_as_planned(self) -> bool:
        """Whether the fit as planned is within the bounds."""
        return self.planned_rms_mm <= ACCEPT_RMS_MM and self.planned_worst_mm <= ACCEPT_WORST_MM

    @property
    def fits_turned(self) -> bool:
        """Whether the fit turned over is within the bounds."""
        return self.turned_rms_mm <= ACCEPT_RMS_MM and self.turned_worst_mm <= ACCEPT_WORST_MM


@dataclass(frozen=True, slots=True)
class Beyond:
    """Reports that put somebody beyond the walls of the room that was walked.

    Attributes:
        share_ppm: of the unit's reports in that room's minute.
        past_wall_mm: how far beyond, median.
    """

    share_ppm: int
    past_wall_mm: int


@dataclass(frozen=True, slots=True)
class LapEvidence:
    """All that a lap proves.

    Attributes:
        shares_ppm: room key → serial → share of reports that showed somebody.
        mounts: serial → its mount, for units that report places.
        beyond: serial → what it saw beyond the walls of its own room.
        walked_at: room key → when, RFC 3339.
    """

    shares_ppm: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    mounts: Mapping[str, Mount] = field(default_factory=dict)
    beyond: Mapping[str, Beyond] = field(default_factory=dict)
    walked_at: Mapping[str, str] = field(default_factory=dict)

    def home_of(self, serial: str) -> str:
        """Return the room where the unit clearly sees most; "" where no room stands out."""
        ranked = sorted(
            ((by_unit.get(serial, 0), room) for room, by_unit in self.shares_ppm.items()),
            reverse=True,
        )
        if not ranked or ranked[0][0] < SEEN_LEAST_PPM:
            return ""
        runner_up = ranked[1][0] if len(ranked) > 1 else 0
        return ranked[0][1] if ranked[0][0] >= CLEARLY * runner_up else ""


def evaluate_lap(
    plan: HousePlan, walks: Sequence[RoomWalk], walked_at: Mapping[str, str]
) -> LapEvidence:
    """Work out what the walked rooms prove.

    Args:
        plan: the property; the schedule says how each unit should hang.
        walks: a walk for each room that was walked.
        walked_at: room key → when, RFC 3339.
    """
    matrix = {
        room: {serial: round(share * 1e6) for serial, share in row.items()}
        for room, row in shares(walks).items()
    }
    evidence = LapEvidence(shares_ppm=matrix, walked_at=dict(walked_at))
    by_room = {walk.room: walk for walk in walks}
    mounts: dict[str, Mount] = {}
    beyond: dict[str, Beyond] = {}
    for line in plan.units:
        walk = by_room.get(evidence.home_of(line.serial))
        if walk is None or not len(walk.windows[line.serial].points_mm):
            continue
        mount = _mount(line, walk)
        if mount is not None:
            mounts[line.serial] = mount
        outside = _beyond(plan, line, walk, mount)
        if outside is not None:
            beyond[line.serial] = outside
    return replace(evidence, mounts=mounts, beyond=beyond)


def _mount(line: PlannedUnit, walk: RoomWalk) -> Mount | None:
    seen, marked = _reference_points(line, walk)
    if len(marked) < FEWEST_STANDS:
        return None
    try:
        direct, mirrored = fit_both(seen, marked)
    except PlanError:  # points in line prove nothing either way
        return None
    planned, turned = (mirrored, direct) if line.pose.upside_down else (direct, mirrored)
    mount = Mount(
        len(marked),
        round(planned.rms_mm),
        round(planned.worst_mm),
        round(turned.rms_mm),
        round(turned.worst_mm),
    )
    return replace(mount, pose=_pose_that_fits(mount, planned, turned, line.pose.height_mm))


def _pose_that_fits(
    mount: Mount, planned: RigidFit, turned: RigidFit, height_mm: int
) -> Pose | None:
    if mount.fits_as_planned:
        return pose_of(planned, height_mm)
    return pose_of(turned, height_mm) if mount.fits_turned else None


def _reference_points(
    line: PlannedUnit, walk: RoomWalk
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the (n, 2) places seen, pushed out to a body's middle, and the (n, 2) marked points."""
    seen, marked = [], []
    for at_mm, points in points_at_stands(walk, line.serial):
        if len(points) < FEWEST_REPORTS:
            continue
        location = biweight_location(_densest(_standing_at(line, points)))
        seen.append((location.x_mm, location.y_mm))
        marked.append(at_mm)
    return np.array(seen).reshape(-1, 2), np.array(marked, dtype=np.float64).reshape(-1, 2)


def _densest(points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Keep the points around the spot where most lie: a mirror's image may show a second body."""
    apart_mm = np.linalg.norm(points_mm[:, None, :] - points_mm[None, :, :], axis=2)
    near = apart_mm <= SAME_BODY_MM
    most = int(near.sum(axis=1).argmax())
    return np.asarray(points_mm[near[most]], dtype=np.float64)


def _standing_at(line: PlannedUnit, points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return where bodies stand that a unit at the planned height reports, (n, 2) in its view."""
    return to_floor(points_mm, line.pose.height_mm - BODY_HEIGHT_MM, NEAR_SIDE_MM)


def _beyond(
    plan: HousePlan, line: PlannedUnit, walk: RoomWalk, mount: Mount | None
) -> Beyond | None:
    pose = mount.pose if mount is not None and mount.pose else None
    if pose is None and walk.room == line.room:
        pose = line.pose
    if pose is None:
        return None
    window = walk.windows[line.serial]
    outline = next(room.outline_mm for room in plan.rooms if room.key == walk.room)
    standing_mm = _standing_at(line, window.points_mm)
    past_mm = distance_outside_mm(to_plan(standing_mm, pose), outline)
    outside = past_mm > BEYOND_MM
    if not outside.any():
        return None
    reports = len(np.unique(window.point_s[outside]))
    share_ppm = round(1e6 * reports / max(len(window.report_s), 1))
    return Beyond(share_ppm, round(float(np.median(past_mm[outside]))))

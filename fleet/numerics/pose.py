"""How a unit is fixed, from points known both in its own frame and on the plan.

The fit turns and shifts but never scales (a wrong scale is a finding, not a freedom). It is made
twice, once with the reported x negated: the better one tells a unit that hangs upside-down.
Two points or points in a line can't tell the two apart and are refused.

In two dimensions the Kabsch rotation needs no singular values: with both clouds centred, the angle
is atan2(Σ cross, Σ dot) (Kabsch 1976, Acta Cryst. A32:922, reduced to the plane).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.errors import PlanError
from fleet.model.geometry import Pose

FEWEST_POINTS = 3
LEAST_SPREAD_MM = 150.0
"""Half a stride to either side of a line: less can be noise alone."""
SMALLEST_SCALE_MM = 50.0
"""Residuals below a radar's own noise are never called outliers."""
TUKEY_REACH = 4.685
MAD_TO_SIGMA_IN_THE_PLANE = 1 / 1.17741
"""The median of the length of a plane normal vector is 1.17741 sigma (Rayleigh)."""
ROUNDS = 30
SETTLED_MM = 1e-6


@dataclass(frozen=True, slots=True)
class RigidFit:
    """A turn and a shift that carry source points to target points, without scale.

    Attributes:
        rotation_deg: counter-clockwise turn, −180 to 180.
        translation_mm: shift after the turn, x and y.
        mirrored: the source's x is negated before the turn.
        rms_mm: root mean square distance of all points after the fit, unweighted.
        worst_mm: the greatest of these distances.
    """

    rotation_deg: float
    translation_mm: tuple[float, float]
    mirrored: bool
    rms_mm: float
    worst_mm: float

    def apply(self, points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Carry (n, 2) points in mm from the source's frame to the target's."""
        source = _as_points(points_mm) * (-1.0 if self.mirrored else 1.0, 1.0)
        shift = np.array(self.translation_mm)
        carried: NDArray[np.float64] = source @ _turn(np.deg2rad(self.rotation_deg)).T + shift
        return carried


def _turn(angle_rad: float) -> NDArray[np.float64]:
    """Return the (2, 2) matrix of a counter-clockwise turn."""
    cos, sin = np.cos(angle_rad), np.sin(angle_rad)
    return np.array([[cos, -sin], [sin, cos]])


def _as_points(points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the points as an (n, 2) array of floats."""
    return np.asarray(points_mm, dtype=np.float64).reshape(-1, 2)


def spread_mm(points_mm: NDArray[np.float64]) -> float:
    """Return the standard deviation in mm across the narrow way of (n, 2) points; 0 in a line."""
    points = _as_points(points_mm)
    if len(points) < FEWEST_POINTS:
        return 0.0
    centred = points - points.mean(axis=0)
    widths = np.linalg.svd(centred, compute_uv=False)
    return float(widths[-1] / np.sqrt(len(points)))


def _refuse_unfit(source: NDArray[np.float64], target: NDArray[np.float64]) -> None:
    """Raise `PlanError` for points from which no pose can be told."""
    if len(source) != len(target):
        reason = f"{len(source)} reported points were given for {len(target)} plan points"
    elif not (np.isfinite(source).all() and np.isfinite(target).all()):
        reason = "a point has no number for its place"
    elif len(source) < FEWEST_POINTS:
        reason = f"{len(source)} points are too few, it takes three"
    elif min(spread_mm(source), spread_mm(target)) < LEAST_SPREAD_MM:
        reason = "the points lie in a line, so right and left can't be told apart"
    else:
        return
    raise PlanError(
        f"No pose can be fitted: {reason}.",
        stands="The pose stays as it was.",
        next_step="Walk round the room, away from one straight line.",
    )


def fit_rigid(
    source_mm: NDArray[np.float64],
    target_mm: NDArray[np.float64],
    *,
    mirrored: bool,
    weights: NDArray[np.float64] | None = None,
) -> RigidFit:
    """Fit the turn and shift of least squares from source to target.

    Args:
        source_mm: (n, 2) points in one frame, in mm.
        target_mm: (n, 2) the same points in the other frame.
        mirrored: negate the source's x first, as a unit that hangs upside-down does.
        weights: (n,) how much each point counts; all alike without it.

    Raises:
        PlanError: fewer than three points, points in a line, or clouds of different length.
    """
    source, target = _as_points(source_mm), _as_points(target_mm)
    _refuse_unfit(source, target)
    counts = np.ones(len(source)) if weights is None else np.asarray(weights, dtype=np.float64)
    return _fit(source, target, counts, mirrored=mirrored)


def _fit(
    source: NDArray[np.float64],
    target: NDArray[np.float64],
    weights: NDArray[np.float64],
    *,
    mirrored: bool,
) -> RigidFit:
    """Fit once with weights; the points are known to be fit for it."""
    turned = source * (-1.0 if mirrored else 1.0, 1.0)
    source_middle = np.average(turned, axis=0, weights=weights)
    target_middle = np.average(target, axis=0, weights=weights)
    a, b = turned - source_middle, target - target_middle
    dot = float(np.sum(weights * (a * b).sum(axis=1)))
    cross = float(np.sum(weights * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])))
    angle = float(np.arctan2(cross, dot))
    shift = target_middle - _turn(angle) @ source_middle
    distance = np.hypot(*(turned @ _turn(angle).T + shift - target).T)
    return RigidFit(
        rotation_deg=float(np.rad2deg(angle)),
        translation_mm=(float(shift[0]), float(shift[1])),
        mirrored=mirrored,
        rms_mm=float(np.sqrt(np.mean(distance**2))),
        worst_mm=float(distance.max()),
    )


def _soft_weights(distance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return weights of the soft L1 loss: far points pull with a bounded force."""
    weights: NDArray[np.float64] = 1 / np.sqrt(1 + (distance / _scale_mm(distance)) ** 2)
    return weights


def _tukey_weights(distance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return Tukey's biweight: points beyond 4.685 sigma count for nothing."""
    reach = distance / (TUKEY_REACH * _scale_mm(distance))
    return np.where(reach < 1, (1 - reach**2) ** 2, 0.0)


def _scale_mm(distance: NDArray[np.float64]) -> float:
    """Return sigma of each axis, told by the median distance and never below a radar's noise."""
    return max(SMALLEST_SCALE_MM, float(np.median(distance)) * MAD_TO_SIGMA_IN_THE_PLANE)


def fit_robust(
    source_mm: NDArray[np.float64], target_mm: NDArray[np.float64], *, mirrored: bool
) -> RigidFit:
    """Fit so that a few wrong points hardly pull; the residuals still tell of all points.

    Least squares weighted again and again: first by soft L1, which finds the neighbourhood from
    any start, then by Tukey's biweight, which forgets what lies far off.

    Args:
        source_mm: (n, 2) points in one frame, in mm.
        target_mm: (n, 2) the same points in the other frame.
        mirrored: negate the source's x first.

    Raises:
        PlanError: fewer than three points, points in a line, or clouds of different length.
    """
    source, target = _as_points(source_mm), _as_points(target_mm)
    fit = fit_rigid(source, target, mirrored=mirrored)
    for weigh in (_soft_weights, _tukey_weights):
        for _ in range(ROUNDS):
            weights = weigh(np.hypot(*(fit.apply(source) - target).T))
            # What is left must still span a plane, or the fit would turn freely about a line.
            if spread_mm(source[weights > 0]) < LEAST_SPREAD_MM:
                break
            before, fit = fit, _fit(source, target, weights, mirrored=mirrored)
            if abs(fit.rms_mm - before.rms_mm) < SETTLED_MM:
                break
    return fit


def fit_both(
    source_mm: NDArray[np.float64], target_mm: NDArray[np.float64]
) -> tuple[RigidFit, RigidFit]:
    """Return the robust fit as the points stand, and the one with the source mirrored.

    Raises:
        PlanError: fewer than three points, points in a line, or clouds of different length.
    """
    return (
        fit_robust(source_mm, target_mm, mirrored=False),
        fit_robust(source_mm, target_mm, mirrored=True),
    )


def pose_of(fit: RigidFit, height_mm: int) -> Pose:
    """Return the pose of a unit whose reports a fit carries to the plan.

    The unit's place is where its origin goes. Its away direction is its y, a quarter turn
    counter-clockwise from its unmirrored x, so its heading is the fit's turn + 90°.
    """
    x_mm, y_mm = fit.translation_mm
    return Pose(
        x_mm=round(x_mm),
        y_mm=round(y_mm),
        heading_mdeg=round((fit.rotation_deg + 90) * 1000) % 360_000,
        upside_down=fit.mirrored,
        height_mm=height_mm,
    )

"""Where somebody stood, from reports of which some are wrong.

Tukey's biweight, started from the median: reports near the middle count fully, reports beyond
4.685 sigma for nothing. Sigma is told by the median distance from the middle, so up to half of the
reports may be wrong. The standard error follows from the influence of each report; reports that
follow each other err alike, so it is widened by √((1 + ρ) / (1 − ρ)), ρ the correlation of
neighbours.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.errors import PlanError

TUKEY_REACH = 4.685
MEDIAN_LENGTH_OF_PLANE_NORMAL = 1.17741
SMALLEST_SCALE_MM = 10.0
"""Units report whole millimetres or coarser: identical reports don't make sigma nought."""
GREATEST_CORRELATION = 0.95
ROUNDS = 20
"""Each leaves a tenth to a third of the way to go: settled far below a millimetre."""


@dataclass(frozen=True, slots=True)
class Location:
    """A place told from many reports.

    Attributes:
        x_mm: x in the frame of the reports.
        y_mm: y likewise.
        inlier_share: part of the reports that counted at all, 0 to 1.
        standard_error_mm: of the worse axis, widened for correlation; inf for a single report.
        used: number of reports that counted.
    """

    x_mm: float
    y_mm: float
    inlier_share: float
    standard_error_mm: float
    used: int


def biweight_location(points_mm: NDArray[np.float64]) -> Location:
    """Return Tukey's biweight location of reports.

    Args:
        points_mm: (n, 2) x, y in mm, in the order in which they came.

    Raises:
        PlanError: no reports.
    """
    points = np.asarray(points_mm, dtype=np.float64).reshape(-1, 2)
    if len(points) == 0:
        raise PlanError(
            "No reports came, so there is no place to tell.",
            stands="Nothing was captured.",
            next_step="Stand where the unit sees you and capture again.",
        )
    middle = np.median(points, axis=0)
    reach = TUKEY_REACH * _scale_mm(points, middle)
    for _ in range(ROUNDS):
        middle = np.average(points, axis=0, weights=_weights(points, middle, reach))
    used = int(np.count_nonzero(_weights(points, middle, reach)))
    return Location(
        x_mm=float(middle[0]),
        y_mm=float(middle[1]),
        inlier_share=used / len(points),
        standard_error_mm=_standard_error_mm(points, middle, reach),
        used=used,
    )


def _scale_mm(points: NDArray[np.float64], middle: NDArray[np.float64]) -> float:
    """Return sigma of each axis from the median distance."""
    median = float(np.median(np.hypot(*(points - middle).T)))
    return max(SMALLEST_SCALE_MM, median / MEDIAN_LENGTH_OF_PLANE_NORMAL)


def _squares(
    points: NDArray[np.float64], middle: NDArray[np.float64], reach_mm: float
) -> NDArray[np.float64]:
    """Return (n,) squared distances as parts of the squared reach, at most 1."""
    squares: NDArray[np.float64] = ((points - middle) ** 2).sum(axis=1) / reach_mm**2
    return np.minimum(squares, 1.0)


def _weights(
    points: NDArray[np.float64], middle: NDArray[np.float64], reach_mm: float
) -> NDArray[np.float64]:
    """Return (n,) biweights, (1 − u²)²."""
    weights: NDArray[np.float64] = (1 - _squares(points, middle, reach_mm)) ** 2
    return weights


def _standard_error_mm(
    points: NDArray[np.float64], middle: NDArray[np.float64], reach_mm: float
) -> float:
    """Return the standard error of the worse axis.

    Influence of a report: w · d. Its mean slope in the plane is that of (1 − u²)(1 − 3u²).
    """
    count = len(points)
    u2 = _squares(points, middle, reach_mm)
    slope = float(np.mean((1 - u2) * (1 - 3 * u2)))
    if count == 1 or slope <= 0:
        return math.inf
    pull = _weights(points, middle, reach_mm)[:, None] * (points - middle)
    own = (pull**2).sum(axis=0)
    errors = np.sqrt(own / (count - 1) / count) / slope * _widening(pull, own)
    return float(errors.max())


def _widening(pull: NDArray[np.float64], own: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return (2,) by how much correlation of neighbours widens the error of each axis."""
    neighbours = (pull[1:] * pull[:-1]).sum(axis=0)
    correlation = np.divide(neighbours, own, out=np.zeros(2), where=own > 0)
    rho = np.clip(correlation, 0.0, GREATEST_CORRELATION)
    widening: NDArray[np.float64] = np.sqrt((1 + rho) / (1 - rho))
    return widening

"""Numerics against figures of the outside world.

Each figure names its source and a mark: R read in the source, C computed with the named library,
M from memory, P common practice without a source.
"""

import numpy as np
import pytest
from scipy.linalg import solve_discrete_are

from fleet.numerics.assignment import assign
from fleet.numerics.constant_velocity import gain, predict, update
from fleet.numerics.outlines import is_simple, signed_area_mm2
from fleet.numerics.pose import fit_rigid
from fleet.numerics.proportions import clopper_pearson, lower_bound, success_run, wilson
from fleet.numerics.rates import lower_rate, toggle_p, upper_rate

# Newcombe 1998, Statistics in Medicine 17:857, table I (M); C statsmodels proportion_confint.
WILSON = [
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0, 0.1611),
    (1, 29, 0.0061, 0.1718),
]
# The same table, the exact method (M); C statsmodels. The last row C alone.
EXACT = [
    (81, 263, 0.2527, 0.3676),
    (15, 148, 0.0578, 0.1617),
    (0, 20, 0.0, 0.1684),
    (1, 29, 0.0009, 0.1776),
    (59, 59, 0.93939, 1.0),
]


@pytest.mark.parametrize(("successes", "trials", "low", "high"), WILSON)
def test_wilson_as_newcombe_prints_it(successes, trials, low, high):
    assert wilson(successes, trials) == pytest.approx((low, high), abs=5.1e-5)


@pytest.mark.parametrize(("successes", "trials", "low", "high"), EXACT)
def test_clopper_pearson_as_newcombe_prints_it(successes, trials, low, high):
    assert clopper_pearson(successes, trials) == pytest.approx((low, high), abs=5.1e-5)


def test_exact_ninety_percent_of_four_in_twenty():
    # NIST/SEMATECH e-Handbook 7.2.4.1, which prints .401029 for the upper end (M); C scipy.
    assert clopper_pearson(4, 20, 0.90) == pytest.approx((0.071354, 0.401028), abs=5e-7)


@pytest.mark.parametrize(
    ("confidence", "reliability", "failures", "trials"),
    [
        # n = ⌈ln(1 − C) / ln R⌉; with failures by the binomial sum (C scipy binom.cdf).
        (0.90, 0.90, 0, 22),
        (0.90, 0.95, 0, 45),
        (0.95, 0.90, 0, 29),
        (0.95, 0.95, 0, 59),
        (0.95, 0.95, 1, 93),
        (0.95, 0.95, 2, 124),
        (0.95, 0.95, 3, 153),
    ],
)
def test_success_run(confidence, reliability, failures, trials):
    assert success_run(confidence, reliability, failures) == trials


def test_the_success_run_is_of_the_binomial_not_of_the_uniform_prior():
    # 0.05^(1/59) = .950492; a uniform prior would give 0.05^(1/60) = .951297 (C).
    assert lower_bound(59, 59) == pytest.approx(0.950492, abs=5e-7)


def test_no_event_bounds_the_rate_by_three_over_the_time():
    # −ln 0.05 = 2.9957, the "rule of three" (C scipy chi2.ppf(.95, 2) / 2).
    assert upper_rate(0, 1.0) == pytest.approx(2.9957, abs=5e-5)
    assert upper_rate(0, 250.0) == pytest.approx(2.9957 / 250, abs=5e-7)


def test_some_events_bound_the_rate_by_chi_square():
    # χ²(.95; 4) = 9.488 and χ²(.95; 8) = 15.507, in any printed table (M); C scipy.
    assert upper_rate(1, 1.0) == pytest.approx(9.488 / 2, abs=5e-4)
    assert upper_rate(3, 1.0) == pytest.approx(15.507 / 2, abs=5e-4)


def test_soak_levels():
    # The levels of the soak trial, per day from hours (C scipy chi2.ppf).
    assert 24 * upper_rate(0, 12.0) == pytest.approx(5.99, abs=5e-3)
    assert 24 * lower_rate(11, 12.0) == pytest.approx(12.3, abs=5e-2)
    assert 24 * upper_rate(0, 72.0) <= 1.0
    assert 24 * upper_rate(0, 1.0) == pytest.approx(72, abs=0.5)


def test_six_events_with_a_fan_on_and_none_with_it_off():
    # Half the time on: 0.5^6 = 1/64 (closed form).
    assert toggle_p(6, 0, 1.0, 1.0) == pytest.approx(0.016, abs=5e-4)
    assert toggle_p(6, 0, 1.0, 1.0) == pytest.approx(1 / 64)


# C scikit-image EuclideanTransform = scipy Rotation.align_vectors; figures in metres.
SOURCE = np.array([(0, 1), (2, 1), (2, 4), (-1, 3)]) * 1000.0
TARGET = np.array([(3.52, 2.35), (5.20, 3.40), (3.76, 5.95), (1.60, 3.62)]) * 1000.0


def test_rigid_fit_direct():
    fit = fit_rigid(SOURCE, TARGET, mirrored=False)
    assert fit.rotation_deg == pytest.approx(29.83446, abs=5e-6)
    assert fit.translation_mm == pytest.approx((3988.77, 1505.08), abs=5e-3)
    assert fit.rms_mm == pytest.approx(35.6825, abs=5e-5)


def test_rigid_fit_of_mirrored_points():
    # The target is the source with x negated, shifted by (4, 1.5) m: without the mirror 2.5495 m.
    target = SOURCE * (-1, 1) + (4000, 1500)
    assert fit_rigid(SOURCE, target, mirrored=False).rms_mm == pytest.approx(2549.5, abs=5e-2)
    mirrored = fit_rigid(SOURCE, target, mirrored=True)
    assert mirrored.rms_mm == pytest.approx(0.0, abs=1e-6)
    assert mirrored.translation_mm == pytest.approx((4000.0, 1500.0))


def test_rigid_fit_of_umeyamas_example_without_scale():
    # Points of Umeyama 1991, IEEE PAMI 13:376, section IV (M); rigid figures C scikit-image.
    source = np.array([(0, 0), (1, 0), (0, 2)]) * 1000.0
    target = np.array([(0, 0), (-1, 0), (0, 2)]) * 1000.0
    fit = fit_rigid(source, target, mirrored=False)
    assert fit.translation_mm == pytest.approx((-980.48, 296.87), abs=5e-3)
    assert fit.rms_mm == pytest.approx(787.25, abs=5e-3)


def test_constant_velocity_filter():
    # Model of Bar-Shalom, Li and Kirubarajan 2001 (M); figures C filterpy = stonesoup.
    place, velocity, covariance, surprise = 0.0, 0.0, (1.0, 0.0, 1.0), 0.0
    reports = [0.0, 0.11, 0.19, 0.32, 0.41, 0.48, 0.62, 0.69, 0.83, 0.90]
    for reported in reports:
        covariance = predict(covariance, 0.1, 0.5)
        off = reported - (place + velocity * 0.1)
        surprise += off**2 / (covariance[0] + 0.04)
        to_place, to_velocity = gain(covariance, 0.04)
        place, velocity = place + velocity * 0.1 + to_place * off, velocity + to_velocity * off
        covariance = update(covariance, 0.04)
    assert (place, velocity) == pytest.approx((0.898046, 1.006643), abs=5e-7)
    assert covariance == pytest.approx((0.0158305, 0.0367215, 0.1921867), abs=5e-8)
    assert surprise == pytest.approx(0.87232, abs=5e-6)


@pytest.mark.parametrize(
    ("costs", "columns", "total"),
    [
        # The example in scipy's documentation of linear_sum_assignment (M); C scipy.
        ([[4, 1, 3], [2, 0, 5], [3, 2, 2]], [1, 0, 2], 5),
        # Nearest first would take 1 and be left with 10, 11 in all.
        ([[1, 2], [2, 10]], [1, 0], 4),
    ],
)
def test_assignment(costs, columns, total):
    paired = assign(costs)
    assert paired == columns
    assert sum(row[column] for row, column in zip(costs, paired, strict=True)) == total


def test_polygon_area_with_its_sense():
    # Rosetta Code, "Shoelace formula for polygonal area": 30 (M); C shapely. Clockwise, so
    # negative.
    assert signed_area_mm2(((3, 4), (5, 11), (12, 8), (9, 5), (5, 6))) == -30


def test_a_bow_tie_is_no_outline():
    # OGC simple features, as shapely judges it (C shapely is_valid).
    assert not is_simple(((0, 0), (2, 2), (2, 0), (0, 2)))


def test_the_filter_settles_where_theory_says():
    # The forecast's covariance ends at the root of the Riccati equation (C scipy
    # solve_discrete_are, called here).
    dt, q, r = 0.1, 0.5, 0.04
    transition = np.array([[1, dt], [0, 1]])
    noise = q * np.array([[dt**3 / 3, dt**2 / 2], [dt**2 / 2, dt]])
    riccati = solve_discrete_are(transition.T, np.array([[1.0], [0.0]]), noise, np.array([[r]]))
    covariance = (1.0, 0.0, 1.0)
    for _ in range(400):
        covariance = predict(update(covariance, r), dt, q)
    assert covariance == pytest.approx((riccati[0, 0], riccati[0, 1], riccati[1, 1]), rel=1e-9)

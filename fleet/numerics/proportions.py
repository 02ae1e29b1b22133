"""What a count of successes proves about a rate of success.

Clopper-Pearson is the exact interval and never promises too much; trials are judged by its
one-sided lower bound. Wilson's is narrower and serves for display. With nothing tried, nothing is
proved: the interval is 0 to 1. The success run counts trials by the binomial itself
(n = ⌈ln(1 − C) / ln R⌉ without failures), not by the form with a uniform prior, which asks for
one trial less.
"""

import math

from scipy.special import bdtr, betaincinv, ndtri

from fleet.model.errors import PlanError

Interval = tuple[float, float]


def clopper_pearson(successes: int, trials: int, confidence: float = 0.95) -> Interval:
    """Return the exact two-sided interval of a proportion.

    Source: Clopper and Pearson 1934, Biometrika 26:404, in the form with the beta distribution.

    Raises:
        PlanError: the counts or the confidence are impossible.
    """
    _check(successes, trials, confidence)
    tail = (1 - confidence) / 2
    failures = trials - successes
    low = float(betaincinv(successes, failures + 1, tail)) if successes else 0.0
    high = float(betaincinv(successes + 1, failures, 1 - tail)) if failures else 1.0
    return low, high


def lower_bound(successes: int, trials: int, confidence: float = 0.95) -> float:
    """Return the exact one-sided lower bound of a proportion.

    Raises:
        PlanError: the counts or the confidence are impossible.
    """
    _check(successes, trials, confidence)
    if successes == 0:
        return 0.0
    return float(betaincinv(successes, trials - successes + 1, 1 - confidence))


def wilson(successes: int, trials: int, confidence: float = 0.95) -> Interval:
    """Return the score interval of a proportion, without continuity correction.

    Source: Wilson 1927, J. Am. Stat. Assoc. 22:209.

    Raises:
        PlanError: the counts or the confidence are impossible.
    """
    _check(successes, trials, confidence)
    if trials == 0:
        return 0.0, 1.0
    z2 = float(ndtri((1 + confidence) / 2)) ** 2
    share = successes / trials
    middle = (share + z2 / (2 * trials)) / (1 + z2 / trials)
    variance = share * (1 - share) / trials + z2 / (4 * trials**2)
    half = math.sqrt(z2 * variance) / (1 + z2 / trials)
    return max(0.0, middle - half), min(1.0, middle + half)


def success_run(confidence: float, reliability: float, failures: int = 0) -> int:
    """Return how many trials show a reliability when at most so many of them fail.

    Raises:
        PlanError: the confidence or reliability isn't between 0 and 1, or failures are negative.
    """
    _check(failures, failures, confidence)
    _check(0, 0, reliability)
    miss, doubt = 1 - reliability, 1 - confidence
    too_few, enough = failures, failures + 1
    while bdtr(failures, enough, miss) > doubt:
        too_few, enough = enough, 2 * enough
    while enough - too_few > 1:
        middle = (too_few + enough) // 2
        if bdtr(failures, middle, miss) > doubt:
            too_few = middle
        else:
            enough = middle
    return enough


def _check(successes: int, trials: int, confidence: float) -> None:
    """Raise `PlanError` for counts that can't be."""
    if 0 <= successes <= trials and 0 < confidence < 1:
        return
    raise PlanError(
        f"{successes} of {trials} at {confidence} is no count of trials.",
        stands="No bound was computed.",
        next_step="Check the counts, and give a share between 0 and 1.",
    )

"""What a count of events over a time proves about their rate.

Events that come alone and at random are Poisson; the exact one-sided bounds are quantiles of
chi-square (or gamma) distributions. Rates are in events per unit of the exposure that is given:
hours in, per hour out.
"""

from scipy.special import bdtrc, gammaincinv

from fleet.model.errors import PlanError


def upper_rate(events: int, exposure: float, confidence: float = 0.95) -> float:
    """Return the one-sided upper bound of a rate: χ²(confidence; 2k + 2) / 2T.

    Source: Garwood 1936, Biometrika 28:437.

    Raises:
        PlanError: a negative count, no exposure, or a confidence outside 0 to 1.
    """
    _check(events, exposure, confidence)
    return float(gammaincinv(events + 1, confidence)) / exposure


def lower_rate(events: int, exposure: float, confidence: float = 0.95) -> float:
    """Return the one-sided lower bound of a rate: χ²(1 − confidence; 2k) / 2T, 0 without events.

    Raises:
        PlanError: a negative count, no exposure, or a confidence outside 0 to 1.
    """
    _check(events, exposure, confidence)
    if events == 0:
        return 0.0
    return float(gammaincinv(events, 1 - confidence)) / exposure


def toggle_p(on_events: int, off_events: int, on_exposure: float, off_exposure: float) -> float:
    """Return how likely as many events or more would fall in the time with a thing switched on.

    Given all events, each falls in the time on with the share of that time, if the thing does
    nothing (Przyborowski and Wilenski 1940, Biometrika 31:313). Small: the thing causes them.

    Raises:
        PlanError: a negative count or no exposure on one side.
    """
    _check(on_events, on_exposure)
    _check(off_events, off_exposure)
    if on_events == 0:
        return 1.0
    share = on_exposure / (on_exposure + off_exposure)
    return float(bdtrc(on_events - 1, on_events + off_events, share))


def _check(events: int, exposure: float, confidence: float = 0.5) -> None:
    """Raise `PlanError` for counts and times that can't be."""
    if events >= 0 and exposure > 0 and 0 < confidence < 1:
        return
    raise PlanError(
        f"{events} events over {exposure} at {confidence} give no rate.",
        stands="No bound was computed.",
        next_step="Watch for some time first, and give a confidence between 0 and 1.",
    )

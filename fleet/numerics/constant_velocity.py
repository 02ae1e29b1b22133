"""One axis of a Kalman filter for a body that keeps its velocity but for white acceleration.

State: position p and velocity v. Over a time t their covariance gains q · [[t³/3, t²/2], [t²/2, t]]
(Bar-Shalom, Li and Kirubarajan 2001, 6.2.2). Plain floats: for one body on one unit they are
some twenty times faster than arrays. Any unit of length serves; q is in length²/s³.
"""

Covariance = tuple[float, float, float]
"""Variance of position, covariance of position and velocity, variance of velocity."""


def predict(covariance: Covariance, dt_s: float, acceleration: float) -> Covariance:
    """Return the covariance after a time; position itself moves by velocity · dt.

    Args:
        covariance: now.
        dt_s: seconds until then.
        acceleration: q, power density of the white acceleration, length²/s³.
    """
    p_pp, p_pv, p_vv = covariance
    return (
        p_pp + dt_s * (2 * p_pv + dt_s * (p_vv + acceleration * dt_s / 3)),
        p_pv + dt_s * (p_vv + acceleration * dt_s / 2),
        p_vv + acceleration * dt_s,
    )


def gain(covariance: Covariance, noise: float) -> tuple[float, float]:
    """Return how much of a surprise goes to position and to velocity, per s.

    Args:
        covariance: predicted to the time of the report.
        noise: variance of a reported position, length².
    """
    p_pp, p_pv, _ = covariance
    surprise = p_pp + noise
    return p_pp / surprise, p_pv / surprise


def update(covariance: Covariance, noise: float) -> Covariance:
    """Return the covariance once a report of that noise has been taken in."""
    p_pp, p_pv, p_vv = covariance
    to_position, to_velocity = gain(covariance, noise)
    return (1 - to_position) * p_pp, (1 - to_position) * p_pv, p_vv - to_velocity * p_pv

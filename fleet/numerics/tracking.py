"""Bodies followed from one report of a unit to the next.

Theory of operation:

1. A report holds a few places without names. Each track is carried forward to the report's time by
   a constant-velocity filter; x and y share one covariance, because they share its noise.
2. A place can belong to a track when it lies within the gate (99.9 % of a plane normal). Of all
   ways to pair places and tracks the likeliest is taken.
3. A place without a track starts one. It is confirmed by its sixth hit in its first eight
   reports; a third miss before that ends it.
4. A confirmed track lives for `COAST_S` without a hit. One that has been hit thirty times and
   stands still is *held* instead: it stays where it is for `HOLD_S`, because a radar loses a body
   that doesn't move. This trades ghosts for misses.
5. A report earlier than the last one is left out.

Values go in and come out; nothing is kept between calls. One unit, plain floats.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fleet.numerics.assignment import UNPAIRABLE, assign
from fleet.numerics.constant_velocity import Covariance, gain, predict, update

NOISE_MM2 = 120.0**2
"""Variance of a reported place on each axis: radars of this kind scatter by 10 cm and more."""
ACCELERATION_MM2_S3 = 500_000.0
"""0.5 m²/s³: a walker who turns or stops changes velocity by about 0.7 m/s within a second."""
WALKING_MM_S = 1200.0
"""Spread of velocity of a body that has been seen once."""
GATE = 13.82
"""χ² with two degrees of freedom holds 99.9 % below this. At 99 % a walker in a circle was lost and
found as another within five minutes of noisy reports."""
BIRTH_HITS, BIRTH_REPORTS = 6, 8
COAST_S = 1.2
HOLD_S = 6.0
STILL_HITS = 30
STILL_MM_S = 350.0
SMOOTHING_S = 1.0
"""The filter's own velocity is too nervous to tell standing from shuffling."""
HELD_DRIFT_MM2_S = 200.0**2
"""A held body leans and shifts: 20 cm in a second, 50 cm in six."""


@dataclass(frozen=True, slots=True)
class Track:
    """One body followed over time.

    Attributes:
        key: never used twice within one run of a unit's tracks.
        x_mm: place in the frame of the reports.
        y_mm: likewise.
        vx_mm_s: velocity.
        vy_mm_s: likewise.
        covariance: of one axis, mm², mm²/s and mm²/s².
        smooth_vx_mm_s: velocity averaged over about a second, which tells standing still.
        smooth_vy_mm_s: likewise.
        hits: reports that held it.
        misses: reports since it was last seen; before it is confirmed, since it began.
        held: it stands still, and is kept where it is while reports leave it out.
        born_s: time of its first report.
        seen_s: time of its last report.
        confirmed: it has been seen often enough to be believed.
    """

    key: int
    x_mm: float
    y_mm: float
    vx_mm_s: float
    vy_mm_s: float
    covariance: Covariance
    smooth_vx_mm_s: float
    smooth_vy_mm_s: float
    hits: int
    misses: int
    held: bool
    born_s: float
    seen_s: float
    confirmed: bool


@dataclass(frozen=True, slots=True)
class Tracks:
    """All tracks of one unit after a report.

    Attributes:
        tracks: tentative ones too; what is shown or counted is `confirmed`.
        next_key: key of the next new track.
        time_s: time of the last report.
    """

    tracks: tuple[Track, ...] = ()
    next_key: int = 1
    time_s: float = -math.inf


Place = tuple[float, float]


def step(state: Tracks, time_s: float, targets_mm: Sequence[Place]) -> Tracks:
    """Take one report in.

    Args:
        state: the unit's tracks after the report before; `Tracks()` to begin with.
        time_s: time of this report in seconds, on any clock that only goes forward.
        targets_mm: x, y of each target in mm; empty reports count as misses.

    Returns:
        The tracks at the time of this report; `state` itself for a report that came too late.
    """
    if time_s < state.time_s:
        return state
    dt_s = time_s - state.time_s
    ahead = [_carry(track, dt_s) for track in state.tracks if _lives(track, time_s)]
    partners = assign([[_cost(track, place) for place in targets_mm] for track in ahead])
    seen = [
        _miss(track) if partner is None else _hit(track, targets_mm[partner], time_s)
        for track, partner in zip(ahead, partners, strict=True)
    ]
    kept = [track for track in seen if track is not None]
    taken = set(partners)
    fresh = [place for index, place in enumerate(targets_mm) if index not in taken]
    born = [_begin(state.next_key + n, place, time_s) for n, place in enumerate(fresh)]
    return Tracks((*kept, *born), state.next_key + len(born), time_s)


def _lives(track: Track, time_s: float) -> bool:
    """Return whether a track that went unseen until now may still be the same body."""
    return time_s - track.seen_s <= (HOLD_S if track.held else COAST_S)


def _carry(track: Track, dt_s: float) -> Track:
    """Return the track carried forward; one that is held and was missed stays where it is."""
    if track.held and track.misses:
        p_pp, p_pv, p_vv = track.covariance
        covariance = (p_pp + HELD_DRIFT_MM2_S * dt_s, p_pv, p_vv)
        return replace(track, vx_mm_s=0.0, vy_mm_s=0.0, covariance=covariance)
    return replace(
        track,
        x_mm=track.x_mm + track.vx_mm_s * dt_s,
        y_mm=track.y_mm + track.vy_mm_s * dt_s,
        covariance=predict(track.covariance, dt_s, ACCELERATION_MM2_S3),
    )


def _cost(track: Track, place: Place) -> float:
    """Return −2 log likelihood of a place, up to a constant; `UNPAIRABLE` outside the gate."""
    variance = track.covariance[0] + NOISE_MM2
    dx, dy = place[0] - track.x_mm, place[1] - track.y_mm
    surprise = (dx * dx + dy * dy) / variance
    return surprise + 2 * math.log(variance / NOISE_MM2) if surprise <= GATE else UNPAIRABLE


def _hit(track: Track, place: Place, time_s: float) -> Track:
    """Return the track corrected by the place that belongs to it."""
    to_position, to_velocity = gain(track.covariance, NOISE_MM2)
    dx, dy = place[0] - track.x_mm, place[1] - track.y_mm
    vx, vy = track.vx_mm_s + to_velocity * dx, track.vy_mm_s + to_velocity * dy
    share = -math.expm1((track.seen_s - time_s) / SMOOTHING_S)
    smooth_vx = track.smooth_vx_mm_s + share * (vx - track.smooth_vx_mm_s)
    smooth_vy = track.smooth_vy_mm_s + share * (vy - track.smooth_vy_mm_s)
    hits = track.hits + 1
    confirmed = track.confirmed or hits >= BIRTH_HITS
    return replace(
        track,
        x_mm=track.x_mm + to_position * dx,
        y_mm=track.y_mm + to_position * dy,
        vx_mm_s=vx,
        vy_mm_s=vy,
        covariance=update(track.covariance, NOISE_MM2),
        smooth_vx_mm_s=smooth_vx,
        smooth_vy_mm_s=smooth_vy,
        hits=hits,
        misses=0 if confirmed else track.misses,
        held=hits >= STILL_HITS and math.hypot(smooth_vx, smooth_vy) < STILL_MM_S,
        seen_s=time_s,
        confirmed=confirmed,
    )


def _miss(track: Track) -> Track | None:
    """Return the track left out by a report; None for one that can't be confirmed any more."""
    misses = track.misses + 1
    if not track.confirmed and misses > BIRTH_REPORTS - BIRTH_HITS:
        return None
    return replace(track, misses=misses)


def _begin(key: int, place: Place, time_s: float) -> Track:
    """Return a new track at a place that no track explains."""
    return Track(
        key=key,
        x_mm=place[0],
        y_mm=place[1],
        vx_mm_s=0.0,
        vy_mm_s=0.0,
        covariance=(NOISE_MM2, 0.0, WALKING_MM_S**2),
        smooth_vx_mm_s=0.0,
        smooth_vy_mm_s=0.0,
        hits=1,
        misses=0,
        held=False,
        born_s=time_s,
        seen_s=time_s,
        confirmed=False,
    )

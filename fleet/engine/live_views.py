"""Freezing what the units say at this moment for the faces, put onto the plan."""

from collections.abc import Sequence

import numpy as np

from fleet.engine.live import RATE_OVER_S, LiveRecord
from fleet.model.geometry import Outline, Point, Pose
from fleet.model.snapshot import LinkState, LiveUnit, TrackView
from fleet.numerics.frames import to_floor, to_plan
from fleet.numerics.outlines import distance_outside_mm
from fleet.numerics.tracking import Track

QUIET_AFTER_S = 2.0
GONE_AFTER_S = 15.0
OUTSIDE_MM = 300.0
HELD_AFTER_S = 0.5  # five reports missed
BODY_HEIGHT_MM = 1100  # common practice, no source: what reflects most of somebody who stands


def live_unit(
    record: LiveRecord, now_s: float, pose: Pose | None, outline: Outline | None
) -> LiveUnit:
    """Freeze a record for the faces.

    Args:
        record: the unit's live state.
        now_s: house time, s.
        pose: how it hangs; None while it isn't placed, and then nothing is put on the plan.
        outline: its room's outline; None likewise.
    """
    age_s = None if record.last_received_s is None else now_s - record.last_received_s
    targets = record.last.targets if record.last else ()
    places = [(t.x_mm, t.y_mm) for t in targets if t.x_mm is not None and t.y_mm is not None]
    return LiveUnit(
        serial=record.serial,
        link=_link_state(age_s),
        report_age_s=age_s,
        reports=record.reports,
        lost_ppm=record.lost_ppm,
        targets_mm=_on_plan(places, pose),
        sensor_targets_mm=tuple(places),
        ranges_mm=tuple(t.range_mm for t in targets if t.range_mm is not None),
        tracks=_track_views(record, now_s, pose, outline) if pose else (),
        way=record.way,
        reports_per_s=_rate_now(record, age_s),
        parts_age_s={name: then_s + (age_s or 0.0) for name, then_s in record.part_ages_s.items()},
        occupied=record.occupied,
        areas_occupied=record.areas_occupied,
        readings=record.readings,
        odd=record.odd,
    )


def _rate_now(record: LiveRecord, age_s: float | None) -> float:
    """The rate that really arrives: one that stopped isn't shown as going on."""
    return record.reports_per_s if age_s is not None and age_s <= RATE_OVER_S else 0.0


def _link_state(age_s: float | None) -> LinkState:
    if age_s is None:
        return LinkState.NEVER
    if age_s < QUIET_AFTER_S:
        return LinkState.LIVE
    return LinkState.QUIET if age_s < GONE_AFTER_S else LinkState.GONE


def _on_plan(places: Sequence[Point], pose: Pose | None) -> tuple[Point, ...]:
    if pose is None or not places:
        return ()
    standing_mm = to_floor(
        np.array(places, dtype=np.float64), max(0, pose.height_mm - BODY_HEIGHT_MM)
    )
    return tuple((round(x), round(y)) for x, y in to_plan(standing_mm, pose).tolist())


def _track_views(
    record: LiveRecord, now_s: float, pose: Pose, outline: Outline | None
) -> tuple[TrackView, ...]:
    confirmed = [track for track in record.tracks.tracks if track.confirmed]
    if not confirmed:
        return ()
    places = _on_plan([(round(t.x_mm), round(t.y_mm)) for t in confirmed], pose)
    past_mm = (
        distance_outside_mm(np.array(places, dtype=np.float64), outline)
        if outline
        else np.zeros(len(places))
    )
    return tuple(
        _track_view(track, at_mm, float(past), now_s, _on_plan(_trail_of(record, track), pose))
        for track, at_mm, past in zip(confirmed, places, past_mm, strict=True)
    )


def _trail_of(record: LiveRecord, track: Track) -> tuple[Point, ...]:
    return tuple(record.trails.get(track.key, ()))


def _track_view(
    track: Track, at_mm: Point, past_mm: float, now_s: float, trail_mm: tuple[Point, ...]
) -> TrackView:
    return TrackView(
        key=track.key,
        at_mm=at_mm,
        speed_mm_s=round(float(np.hypot(track.smooth_vx_mm_s, track.smooth_vy_mm_s))),
        spread_mm=round(float(max(track.covariance[0], 0.0)) ** 0.5),
        held=track.held and now_s - track.seen_s > HELD_AFTER_S,
        outside=past_mm > OUTSIDE_MM,
        trail_mm=trail_mm,
    )

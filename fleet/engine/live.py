"""What the units say at this moment: the latest reports, how many were lost, and followed bodies.

One `LiveRecord` a unit, changed only in the engine's loop; faces get the frozen `LiveUnit` made from it.
Age and loss go by the moment of receipt and by report numbers, never by a unit's own clock.
"""

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from fleet.model.geometry import Outline, Point, Pose
from fleet.model.reports import Report
from fleet.model.snapshot import LinkState, LiveUnit, TrackView
from fleet.numerics.frames import to_floor, to_plan
from fleet.numerics.outlines import distance_outside_mm
from fleet.numerics.tracking import Track, Tracks, step

QUIET_AFTER_S = 2.0
GONE_AFTER_S = 15.0
ENOUGH_NUMBERS = 200
TRAIL_POINTS = 24
TRAIL_EVERY_S = 0.25
OUTSIDE_MM = 300.0
HELD_AFTER_S = 0.5  # five reports missed
BODY_HEIGHT_MM = 1100  # common practice, no source: what reflects most of somebody who stands

ReportListener = Callable[[str, float, Report], None]


@dataclass(slots=True)
class LiveRecord:
    """One unit's live state, in the engine's loop alone.

    Attributes:
        serial: which.
        reports: how many came.
        numbers_due, numbers_came: report numbers that should have come and that came, over all streams.
        odd: reports that couldn't be used, by reason.
    """

    serial: str
    reports: int = 0
    numbers_due: int = 0
    numbers_came: int = 0
    last_number: int | None = None
    last_received_s: float | None = None
    last: Report | None = None
    tracks: Tracks = field(default_factory=Tracks)
    trails: dict[int, deque[Point]] = field(default_factory=dict)
    trail_at_s: float = 0.0
    connected: bool = False
    odd: dict[str, int] = field(default_factory=dict)

    def begin_stream(self) -> None:
        """Start counting anew: what a broken connection missed isn't the unit's loss."""
        self.connected = True
        self.last_number = None

    def take(self, report: Report, received_s: float) -> None:
        """Take one report in, at the house time of its receipt, s."""
        self.reports += 1
        self.last, self.last_received_s = report, received_s
        self._count(report.number)
        places = [
            (float(target.x_mm), float(target.y_mm))
            for target in report.targets
            if target.x_mm is not None and target.y_mm is not None
        ]
        if places or self.tracks.tracks:
            self.tracks = step(self.tracks, received_s, places)
            self._trail(received_s)

    def _count(self, number: int | None) -> None:
        if number is None:
            return
        restarted = self.last_number is not None and number <= self.last_number
        if self.last_number is not None and not restarted:
            self.numbers_due += number - self.last_number
            self.numbers_came += 1
        self.last_number = number

    def _trail(self, received_s: float) -> None:
        if received_s - self.trail_at_s < TRAIL_EVERY_S:
            return
        self.trail_at_s = received_s
        alive = {track.key: track for track in self.tracks.tracks if track.confirmed}
        for key in self.trails.keys() - alive.keys():
            del self.trails[key]
        for key, track in alive.items():
            trail = self.trails.setdefault(key, deque(maxlen=TRAIL_POINTS))
            trail.append((round(track.x_mm), round(track.y_mm)))

    @property
    def lost_ppm(self) -> int | None:
        """Share of numbered reports that didn't come; None while too few are due to say."""
        if self.numbers_due < ENOUGH_NUMBERS:
            return None
        return round(1e6 * (1 - self.numbers_came / self.numbers_due))


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
    )


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

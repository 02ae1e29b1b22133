"""What the units say at this moment: the latest reports, how many were lost, and followed bodies.

One `LiveRecord` a unit, changed only in the engine's loop; `live_views` freezes it for the faces. Age and
loss go by the moment of receipt and by report numbers, never by a unit's own clock.
"""

from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from fleet.model.geometry import Point
from fleet.model.reports import OccupancyReport, Report
from fleet.numerics.tracking import Tracks, step

ENOUGH_NUMBERS = 200
TRAIL_POINTS = 24
TRAIL_EVERY_S = 0.25
RATE_OVER_S = 2.0
MOST_KINDS_OF_ODD = 32
"""Kinds of unusable reports that are told apart; a unit that invents more is told as "other"."""

ReportListener = Callable[[str, float, Report], None]


@dataclass(slots=True)
class LiveRecord:
    """One unit's live state, in the engine's loop alone.

    Attributes:
        serial: which.
        reports: how many came.
        numbers_due, numbers_came: report numbers that should have come and that came, over all streams.
        odd: reports that couldn't be used, by reason.
        way: how its reports come, in words.
        part_ages_s: of the last report, where it was put together from parts: the age of each then.
        occupied, areas_occupied: what the unit itself said last of presence.
        readings: everything else that it said last, by its own name, with its unit.

    Mappings are replaced, never changed, so that a snapshot may hold them.
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
    odd: Mapping[str, int] = field(default_factory=dict)
    way: str = ""
    part_ages_s: Mapping[str, float] = field(default_factory=dict)
    occupied: bool | None = None
    areas_occupied: Mapping[str, bool] = field(default_factory=dict)
    readings: Mapping[str, str] = field(default_factory=dict)
    reports_per_s: float = 0.0
    rate_since: tuple[float, int] = (0.0, 0)

    def complain(self, reason: str) -> None:
        """Count something that couldn't be used."""
        known = reason in self.odd or len(self.odd) < MOST_KINDS_OF_ODD
        kind = reason if known else "other"
        self.odd = {**self.odd, kind: self.odd.get(kind, 0) + 1}

    def take_occupancy(self, report: OccupancyReport) -> None:
        """Take in what the unit itself says of presence."""
        self.occupied = report.occupied
        self.areas_occupied = {area.area_id: area.occupied for area in report.areas}

    def begin_stream(self) -> None:
        """Start counting anew: what a broken connection missed isn't the unit's loss."""
        self.connected = True
        self.last_number = None

    def take(self, report: Report, received_s: float) -> None:
        """Take one report in, at the house time of its receipt, s."""
        self.reports += 1
        self.last, self.last_received_s = report, received_s
        self._count(report.number)
        self._rate(received_s)
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

    def _rate(self, received_s: float) -> None:
        since_s, before = self.rate_since
        if received_s - since_s >= RATE_OVER_S:
            self.reports_per_s = (self.reports - before) / (received_s - since_s)
            self.rate_since = (received_s, self.reports)

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

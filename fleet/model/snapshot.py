"""What a face of the program sees of the running visit: immutable, swapped as one reference.

`Snapshot` is made anew many times a second; `HouseState` only when the inventory or a reading changed,
so a face compares `snapshot.house` by identity and rebuilds its lists only then.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from fleet.model.findings import Finding, RoomResult
from fleet.model.firmware import Campaign, DriftLine
from fleet.model.geometry import Point
from fleet.model.house import HousePlan, Signature
from fleet.model.journal import Change, OpenStep
from fleet.model.meeting import ChangedCertificate, Expected, LockedUnit
from fleet.model.units import Reading, Sighting, Unit


class ItemState(StrEnum):
    """One glyph and one word for how a line stands."""

    SHOWN = "shown"
    TO_DO = "to do"
    LOOK = "look"
    WRONG = "wrong"
    NOT_TESTED = "not tested"


class LinkState(StrEnum):
    """Whether reports of a unit arrive."""

    NEVER = "never heard"
    LIVE = "live"
    QUIET = "quiet"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class TrackView:
    """A followed body in the plan frame of its floor.

    Attributes:
        at_mm: where.
        speed_mm_s: how fast.
        spread_mm: one standard deviation of the place.
        held: it is kept though no report shows it now (a still body).
        outside: it is beyond the walls of the unit's room.
        trail_mm: where it was, oldest first.
    """

    key: int
    at_mm: Point
    speed_mm_s: int
    spread_mm: int
    held: bool
    outside: bool
    trail_mm: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class LiveUnit:
    """What a unit says at this moment.

    Attributes:
        serial: which.
        link: whether reports arrive.
        report_age_s: house seconds since the last report; None while none came.
        reports: how many came.
        lost_ppm: share of numbered reports that didn't come; None while too few came to say.
        targets_mm: last reported targets in the plan frame.
        sensor_targets_mm: the same in the unit's own view.
        ranges_mm: distances of a unit that reports no place.
        tracks: followed bodies.
        way: how its reports come: "event stream", "long poll", "WebSocket", "MQTT", "polled"; "" for none.
        reports_per_s: how many really arrive each house second.
        parts_age_s: a report that is put together from parts: age of each part by its name.
        occupied: what the unit itself says of presence; None while it didn't.
        areas_occupied: area id → occupied, by the unit itself.
        readings: everything else that it says now, by its own name: value and unit as words.
        odd: reports that couldn't be used, by reason.
    """

    serial: str
    link: LinkState = LinkState.NEVER
    report_age_s: float | None = None
    reports: int = 0
    lost_ppm: int | None = None
    targets_mm: tuple[Point, ...] = ()
    sensor_targets_mm: tuple[Point, ...] = ()
    ranges_mm: tuple[int, ...] = ()
    tracks: tuple[TrackView, ...] = ()
    way: str = ""
    reports_per_s: float = 0.0
    parts_age_s: Mapping[str, float] = field(default_factory=dict)
    occupied: bool | None = None
    areas_occupied: Mapping[str, bool] = field(default_factory=dict)
    readings: Mapping[str, str] = field(default_factory=dict)
    odd: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Job:
    """A line of what is left to do: its subject, the reason and one thing to do.

    Attributes:
        key: stable name of the line.
        group: "builds", "settings", "sign-off" or "snags".
        room: key of the room; unit: label or "".
        title: the subject; reason: one sentence; action: the one thing to do ("Review", "Sign", ...).
        state: how it stands.
    """

    key: str
    group: str
    room: str
    unit: str
    title: str
    reason: str
    action: str
    state: ItemState


@dataclass(frozen=True, slots=True)
class OperationView:
    """A running operation: what, how far (ppm, None while unknown), and whether it can be stopped."""

    key: int
    title: str
    done_ppm: int | None
    said: str = ""
    can_stop: bool = False


@dataclass(frozen=True, slots=True)
class HouseState:
    """All of the inventory that a face shows. `plan.site.demo` says whether it is invented.

    Attributes:
        plan: site, floors, rooms, schedule.
        units: serial → unit.
        unplaced: readings of units that were heard and stand in no schedule.
        sightings: serial → where it was heard.
        changes: what a review would offer to write.
        findings: what is wrong.
        rooms: room key → its checklist as it stands.
        signatures: room key → who accepted it this visit.
        jobs: what is left to do.
        doubtful: steps of an apply that was cut off.
        read_only: another program holds the inventory.
        troubles: what went wrong with units that were heard, a sentence each.
        expected: every unit of the schedule, and every other that was heard, with how far it was met.
        locked: units that want a password.
        certificates: whoever shows another certificate than the one trusted.
        security: what is weak about the ways into units, a sentence each.
        drift: how the build of each unit of the schedule stands.
        campaign: the last one of this site, whether it has an end or not; None before the first.
        shelf: folder of the firmware shelf that was opened last, "" for none.
        unfinished: steps that are partly done, and wait for a person to choose.
    """

    plan: HousePlan
    units: Mapping[str, Unit] = field(default_factory=dict)
    unplaced: tuple[Reading, ...] = ()
    sightings: Mapping[str, Sighting] = field(default_factory=dict)
    changes: tuple[Change, ...] = ()
    findings: tuple[Finding, ...] = ()
    rooms: Mapping[str, RoomResult] = field(default_factory=dict)
    signatures: Mapping[str, Signature] = field(default_factory=dict)
    jobs: tuple[Job, ...] = ()
    doubtful: tuple[OpenStep, ...] = ()
    read_only: bool = False
    troubles: tuple[str, ...] = ()
    expected: tuple[Expected, ...] = ()
    locked: tuple[LockedUnit, ...] = ()
    certificates: tuple[ChangedCertificate, ...] = ()
    security: tuple[str, ...] = ()
    drift: tuple[DriftLine, ...] = ()
    campaign: Campaign | None = None
    shelf: str = ""
    unfinished: tuple[OpenStep, ...] = ()


@dataclass(frozen=True, slots=True)
class Snapshot:
    """The visit at one moment.

    Attributes:
        at: house time UTC; speed: house seconds a wall second (1 but in a demo).
        house: the slow part.
        live: serial → what the unit says.
        reports_per_s: reports that arrive each house second.
        interface: the network interface listened on.
        heard, expected: units heard, and units of the schedule.
        operations: what is running.
        prompt: what the person who walks is asked to do now, "" for nothing.
        showing: serial of the unit that shows itself in a sweep, "" for none.
    """

    at: datetime
    speed: float
    house: HouseState
    live: Mapping[str, LiveUnit] = field(default_factory=dict)
    reports_per_s: float = 0.0
    interface: str = ""
    heard: int = 0
    expected: int = 0
    operations: tuple[OperationView, ...] = ()
    prompt: str = ""
    showing: str = ""

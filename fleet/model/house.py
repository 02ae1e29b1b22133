"""A property as an installer knows it: floors, rooms, units, approved builds, earlier visits.

These values are also the format of a plan file (JSON, `resources/schemas/plan.schema.json`): a member
of the file for each attribute here. Lengths are mm on the floor's plan frame, angles millidegrees.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from fleet.model.geometry import Outline, Point, Pose, Segment
from fleet.model.sheets import Area, Sheet


class RoomKind(StrEnum):
    """What a room is used as; it picks the checklist."""

    CIRCULATION = "circulation"
    LIVING = "living"
    KITCHEN = "kitchen"
    OFFICE = "office"
    GARAGE = "garage"
    BEDROOM = "bedroom"
    BATHROOM = "bathroom"


class ModuleType(StrEnum):
    """The kinds of module that a plan knows."""

    TRACKING = "tracking"
    STATIC = "static"
    VITAL = "vital-sign"


class MatchWord(StrEnum):
    """Whether a build, a hardware revision and a module go together."""

    ALLOWED = "allowed"
    BLOCKED = "blocked"
    UNKNOWN = "unknown"


class MarkKind(StrEnum):
    """What stands in a room and matters to sensing."""

    FAN = "fan"
    MIRROR = "mirror"
    BED = "bed"
    SEAT = "seat"
    DESK = "desk"
    CABINET = "cabinet"


@dataclass(frozen=True, slots=True)
class Site:
    """One property. `demo` marks an invented one: every screen and record says so."""

    name: str
    address: str = ""
    demo: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Floor:
    """A level of the site; 0 is the ground floor."""

    key: str
    name: str
    level: int


@dataclass(frozen=True, slots=True)
class Mark:
    """A thing in a room: at a point (a fan, a seat), along a line (a mirror) or over an outline."""

    kind: MarkKind
    label: str
    points_mm: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Room:
    """A space with an outline on its floor's plan.

    Attributes:
        key: its own short name in files, for example "bedroom-1".
        name: what people call it.
        floor: key of its floor.
        kind: picks the checklist.
        outline_mm: the inner faces of its walls, in order.
        doors: openings in those walls.
        marks: what stands in it.
    """

    key: str
    name: str
    floor: str
    kind: RoomKind
    outline_mm: Outline
    doors: tuple[Segment, ...] = ()
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class PlannedUnit:
    """A line of the unit schedule.

    Attributes:
        label: what is written on the unit, for example "U04".
        serial: the unit's serial; empty while none is allotted.
        room: key of the room that it belongs in.
        module_type: the module that is planned for it.
        hardware_revision: the hardware that was ordered.
        pose: where and how it is to be fixed.
        settings: planned settings by the part of the sheet key after "setting.".
        areas: planned areas, outlines in the plan frame.
    """

    label: str
    serial: str
    room: str
    module_type: ModuleType
    hardware_revision: str
    pose: Pose
    settings: Mapping[str, int | str | bool] = field(default_factory=dict)
    areas: tuple[Area, ...] = ()


@dataclass(frozen=True, slots=True)
class ApprovedBuild:
    """The build that units of one hardware revision and module type should run."""

    hardware_revision: str
    module_type: ModuleType
    version: str
    build_id: str
    sequence: int
    image_digest: str = ""
    earlier: tuple[str, ...] = ()
    """Versions before it, newest first, so that "two builds behind" can be counted."""


@dataclass(frozen=True, slots=True)
class Match:
    """What is known of a build on a hardware revision with a module of some firmware."""

    hardware_revision: str
    module_type: ModuleType
    module_firmware: str
    version: str
    match: MatchWord


@dataclass(frozen=True, slots=True)
class Signature:
    """Acceptance of a room by a named person."""

    name: str
    role: str
    signed_at: datetime
    exceptions: Mapping[str, str] = field(default_factory=dict)
    """Checklist item → why it was signed for though it wasn't shown."""


@dataclass(frozen=True, slots=True)
class RoomVisit:
    """What an earlier visit showed of a room: checklist items shown, open, and who accepted."""

    room: str
    shown: tuple[str, ...]
    open: tuple[str, ...] = ()
    signature: Signature | None = None


@dataclass(frozen=True, slots=True)
class SoakNote:
    """A soak of an earlier visit: seconds confirmed empty and the false episodes in them."""

    unit: str
    empty_s: int
    episodes: int


@dataclass(frozen=True, slots=True)
class EarlierVisit:
    """A period on site before this one, with the sheets that it left.

    Attributes:
        left_at: when the installer left, UTC.
        by: who was there.
        as_left: unit label → its sheet at sign-off.
        rooms: what was shown and accepted, room by room.
        soaks: soak trials of that visit.
    """

    left_at: datetime
    by: str
    as_left: Mapping[str, Sheet] = field(default_factory=dict)
    rooms: tuple[RoomVisit, ...] = ()
    soaks: tuple[SoakNote, ...] = ()


@dataclass(frozen=True, slots=True)
class HousePlan:
    """All that an installer knows of a property before the scan."""

    site: Site
    floors: tuple[Floor, ...]
    rooms: tuple[Room, ...]
    units: tuple[PlannedUnit, ...] = ()
    approved_builds: tuple[ApprovedBuild, ...] = ()
    matches: tuple[Match, ...] = ()
    visits: tuple[EarlierVisit, ...] = ()
    format: str = "walkdown-plan/1"

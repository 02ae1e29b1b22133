"""The truth file: what is really on the walls and in the rooms. Only the simulator reads it.

The format is these values as JSON (`resources/schemas/truth.schema.json`), beside the plan in a house's
folder: `plan.json` is what the installer knows, `truth.json` what is so. Lengths are mm on the floor's
plan frame, areas are in the unit's own view, angles are millidegrees, shares are parts a million.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from fleet.model.geometry import Point, Pose, Segment
from fleet.model.house import ModuleType
from fleet.model.sheets import Area


class FirmwareFault(StrEnum):
    """What goes wrong when a unit takes another firmware image.

    A power cut, a reset, an answer 500 and a hang strike the first installation alone. The other faults are
    illnesses of the unit and strike every time.
    """

    CUT_FETCHING = "power-cut-fetching"
    CUT_VERIFYING = "power-cut-verifying"
    CUT_STAGED = "power-cut-staged"
    CUT_APPLYING = "power-cut-applying"
    CUT_REBOOTING = "power-cut-rebooting"
    CUT_CONFIRMING = "power-cut-confirming"
    RESET = "reset"
    ANSWERS_500 = "answers-500-after-done"
    HANG = "hang"
    WRONG_DIGEST = "wrong-digest-on-flash"
    BOOT_FAILED = "boot-failed"
    NO_SPACE = "no-space"
    SETTINGS_LOST = "settings-lost"
    REPORTS_LOST = "slow-reports-lost"


class WriteFault(StrEnum):
    """What goes wrong, once, when a scattered unit is written one value after another.

    A lost write is answered like any other and isn't kept; at a reset in between the unit restarts, and
    the write that met it isn't done.
    """

    LOST = "write-lost"
    RESET = "reset-in-between"


@dataclass(frozen=True, slots=True)
class TrueBuild:
    """The firmware image that a unit really runs."""

    version: str
    build_id: str
    sequence: int
    image_digest: str


@dataclass(frozen=True, slots=True)
class TrueUnit:
    """A unit as it really is.

    Attributes:
        serial: what it says of itself.
        room: key of the room where it really hangs.
        pose: how it really hangs.
        module_type: the module that is really in it.
        hardware_revision: its board.
        module_firmware: the module's own firmware.
        build: the image that it runs.
        settings: sheet key after "setting." → value.
        areas: its area set, in its own view.
        area_revision: revision of that set.
        signal_dbm: its Wi-Fi signal.
        lost_ppm: share of its numbered reports that never arrive.
        vendor_id, class_id, mac: identity.
        firmware_fault: what goes wrong when it takes another image; null for nothing.
        scattered: each setting and each edge of an area is a value of its own, written by itself.
        write_fault: what goes wrong in writing those; null for nothing.
    """

    serial: str
    room: str
    pose: Pose
    module_type: ModuleType
    hardware_revision: str
    module_firmware: str
    build: TrueBuild
    settings: Mapping[str, int | str | bool]
    areas: tuple[Area, ...] = ()
    area_revision: int = 1
    signal_dbm: int = -58
    lost_ppm: int = 0
    vendor_id: str = ""
    class_id: str = ""
    mac: str = ""
    firmware_fault: FirmwareFault | None = None
    scattered: bool = False
    write_fault: WriteFault | None = None


@dataclass(frozen=True, slots=True)
class LeakyWall:
    """A piece of wall on a floor that radar sees through.

    Attributes:
        floor: key of the floor.
        segment: where it leaks.
        seen_from: key of the room whose units see out through it; from the other side they look along it.
        pass_ppm: share of half-seconds in which a body behind it is seen at all.
    """

    floor: str
    segment: Segment
    seen_from: str
    pass_ppm: int


@dataclass(frozen=True, slots=True)
class Mirror:
    """A surface that throws radar back: a body before it is also seen behind it.

    Attributes:
        floor: key of the floor.
        segment: the reflecting face.
        seen_ppm: share of half-seconds in which the image is seen.
    """

    floor: str
    segment: Segment
    seen_ppm: int


@dataclass(frozen=True, slots=True)
class Fan:
    """A ceiling fan; while it runs it now and then looks like somebody."""

    floor: str
    at_mm: Point
    running: bool = False


@dataclass(frozen=True, slots=True)
class Sitter:
    """How long a person in a room keeps so still that a unit sees nothing: the longest gap, s."""

    room: str
    longest_gap_s: int


@dataclass(frozen=True, slots=True)
class Truth:
    """What is really there. An empty house with faultless units needs the units alone."""

    units: tuple[TrueUnit, ...]
    leaky_walls: tuple[LeakyWall, ...] = ()
    mirrors: tuple[Mirror, ...] = ()
    fans: tuple[Fan, ...] = ()
    sitters: tuple[Sitter, ...] = ()
    note: str = ""
    format: str = "walkdown-truth/1"

"""Firmware images as a shelf describes them, and how far an installation got."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class Image:
    """One firmware image, as its signed manifest says.

    Attributes:
        version: as its maker writes it.
        build_id: the maker's name for this very build.
        sequence: only ever rises; a unit refuses a lower one (RFC 9124).
        vendor_id, class_id: UUIDs of who made the units and of their class.
        hardware_revisions: boards that it is for; none named is none.
        module_types: modules that it goes with, by the words of `ModuleType`.
        module_firmwares: builds of the module that it was tried with; none named is unknown.
        sha256: of the whole image, hex.
        size_bytes: of the whole image.
        file: its name on the shelf.
        notes: what a person should know.
        support_ends: last day on which its maker mends it; None where the maker doesn't say.
    """

    version: str
    build_id: str
    sequence: int
    vendor_id: str
    class_id: str
    hardware_revisions: tuple[str, ...]
    module_types: tuple[str, ...]
    module_firmwares: tuple[str, ...]
    sha256: str
    size_bytes: int
    file: str
    notes: str = ""
    support_ends: date | None = None


class InstallState(StrEnum):
    """How far a unit says an installation is, in the words of the unit interface."""

    IDLE = "idle"
    FETCHING = "fetching"
    VERIFYING = "verifying"
    STAGED = "staged"
    APPLYING = "applying"
    REBOOTING = "rebooting"
    CONFIRMING = "confirming"
    COMPLETED = "completed"
    ROLLED_BACK = "rolled-back"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class Installation:
    """How far a unit says an installation is.

    Attributes:
        state: the stage; None for a word that isn't known.
        done_bytes, total_bytes: of that stage; None where it doesn't say.
        digest: sha-256 of the image that it is about, hex; "" where it doesn't say.
        reason: why it came to nothing, in the unit's word; "" for no reason.
    """

    state: InstallState | None = None
    done_bytes: int | None = None
    total_bytes: int | None = None
    digest: str = ""
    reason: str = ""


class Wave(StrEnum):
    """Which part of a fleet is updated when."""

    BENCH = "bench"
    ONE_A_KEY = "one of each kind"
    QUARTER = "a quarter at most"
    REST = "the rest"


class UpdateState(StrEnum):
    """How one unit of a campaign stands; each but the first three is an end."""

    WAITING = "waiting"
    RUNNING = "running"
    IN_DOUBT = "in doubt"
    DONE = "done"
    ALREADY = "runs it already"
    REFUSED = "refused before a byte went out"
    OLD_BUILD = "runs its old build"
    NOT_RECOVERED = "not recovered"


class CampaignState(StrEnum):
    """How a campaign stands."""

    RUNNING = "running"
    PAUSED = "paused"
    AT_GATE = "waits at a gate"
    STOPPED = "stopped"
    DONE = "done"


class UpdateStage(StrEnum):
    """The last thing that was begun with a unit of a campaign; kept before it is begun."""

    NONE = ""
    SENDING = "sending the image"
    ORDERED = "told to install it"
    CHECKING = "checked after it"


@dataclass(frozen=True, slots=True)
class UnitUpdate:
    """One unit of a campaign.

    Attributes:
        serial, label: which.
        key: hardware revision, module type and module firmware, joined by a space.
        wave: when it is its turn.
        state: how it stands.
        said: a sentence: what was read back, or what stands now and what to do.
        done_ppm: how far it got; None while nothing is known.
        left_s: how long it may still take; None while nothing is known.
        room: key of its room, "" for none.
        stage: the last thing that was begun with it.
        took_s: how long it took, house seconds; None while it has no end.
        accepted: a person went on although it failed.
    """

    serial: str
    label: str
    key: str
    wave: Wave
    state: UpdateState = UpdateState.WAITING
    said: str = ""
    done_ppm: int | None = None
    left_s: int | None = None
    room: str = ""
    stage: UpdateStage = UpdateStage.NONE
    took_s: int | None = None
    accepted: bool = False


@dataclass(frozen=True, slots=True)
class CampaignTerms:
    """How a campaign is run.

    Attributes:
        at_once: how many units are away at the same time, never two of one room.
        dwell_s: how long each unit has to report well afterwards, house seconds.
        pull: units fetch the image themselves, where the tool serves it.
        allow_downgrade: a person decided that an older build goes on.
        shelf: folder of the shelf that the image lies on.
        downgrade_why: why an older build is meant, by that person; "" where none is.
    """

    at_once: int = 8
    dwell_s: int = 120
    pull: bool = False
    allow_downgrade: bool = False
    shelf: str = ""
    downgrade_why: str = ""


@dataclass(frozen=True, slots=True)
class Campaign:
    """An image on its way through a fleet.

    Attributes:
        number: 1 for the first of an inventory.
        image: what is installed.
        state: how it stands; said: why, in a sentence.
        updates: every unit, in the order of its turn.
        by: who began it.
        terms: how it is run.
    """

    number: int
    image: Image
    state: CampaignState
    updates: tuple[UnitUpdate, ...]
    by: str
    said: str = ""
    terms: CampaignTerms = CampaignTerms()


@dataclass(frozen=True, slots=True)
class DriftLine:
    """How the build of one unit of the schedule stands, as a face shows it.

    Attributes:
        serial, label: which; no serial while none is allotted.
        room: key of its room.
        running, approved: versions; "" where nobody says.
        word: "current", "behind by 2", "behind", "ahead", "unknown build", "wrong hardware", "support
            ended" or "nothing approved".
        reason: why, in words.
        read_at: when its build was read, house time UTC; None where it never was.
    """

    serial: str
    label: str
    room: str
    running: str
    approved: str
    word: str
    reason: str
    read_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class ImageLine:
    """An image of a shelf that was opened, as a face offers it.

    Attributes:
        image: what it is.
        trusted: its manifest's signature fits, by a key that somebody here trusts, and so do its octets.
        said: who signed it, or what is wrong, in words.
        fingerprint: of the key that signed the shelf; "" where no signature fits.
    """

    image: Image
    trusted: bool
    said: str
    fingerprint: str = ""

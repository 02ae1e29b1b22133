"""What the program found to be wrong, and the evidence that says so."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from fleet.model.sheets import Value


class FindingKind(StrEnum):
    """The kinds of finding, each with one meaning."""

    GHOST = "ghost"
    MIRRORED_MOUNT = "mirrored-mount"
    SETTING_CHANGED = "setting-changed"
    AREA_PAST_WALL = "area-past-wall"
    BUILD_BEHIND = "build-behind"
    MATCH_UNKNOWN = "match-unknown"
    BLEED_THROUGH = "bleed-through"
    WEAK_LINK = "weak-link"
    MODULE_SWAPPED = "module-swapped"
    FAN = "fan"
    SOAK_INCONCLUSIVE = "soak-inconclusive"
    LABELS_CROSSED = "labels-crossed"
    UNSIGNED = "unsigned"
    HOLD_TIME_SHORT = "hold-time-short"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong in a room.

    Attributes:
        room: key of the room that the schedule gives.
        unit: label of the unit; empty where the room as a whole is meant.
        kind: what is wrong.
        reason: one sentence for a person.
        evidence: the figures that it rests on; names carry their units.
    """

    room: str
    unit: str
    kind: FindingKind
    reason: str
    evidence: Mapping[str, Value] = field(default_factory=dict)


class Outcome(StrEnum):
    """What a trial or an item of a checklist came to. Only `PASS` is a pass."""

    PASS = "pass"  # noqa: S105 - the word of a verdict, not a password
    FAIL = "fail"
    INCONCLUSIVE = "inconclusive"
    NOT_TESTED = "not tested"


@dataclass(frozen=True, slots=True)
class ItemResult:
    """An item of a room's checklist as it stands.

    Attributes:
        key: the item's key in the checklist.
        text: what it asks.
        evidence: auto, tick, photo or signature.
        outcome: what it came to.
        reason: why, in one sentence, with the figures.
    """

    key: str
    text: str
    evidence: str
    outcome: Outcome
    reason: str


@dataclass(frozen=True, slots=True)
class RoomResult:
    """A room's checklist as it stands, and who accepted the room this visit ("" for nobody)."""

    room: str
    items: tuple[ItemResult, ...]
    signed_by: str = ""

    @property
    def shown(self) -> int:
        """How many items are shown."""
        return sum(item.outcome is Outcome.PASS for item in self.items)

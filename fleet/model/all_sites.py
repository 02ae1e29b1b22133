"""Units of every site as far as their builds go: what the inventory answers about all it ever held."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from fleet.model.house import ApprovedBuild, Match
from fleet.model.sheets import Sheet


@dataclass(frozen=True, slots=True)
class SiteUnit:
    """A line of a site's schedule and the last that was read of its unit's build.

    Attributes:
        label, serial: which; no serial while none is allotted. room: the room's name.
        hardware_revision, module_type: as planned. found: items "hardware.…", "module.…" and "build.…"
        of the last reading; empty where there was none. other: all else that it said then, by the
        unit's own names. read_at: when that was, house time UTC; None where it was never read.
    """

    label: str
    serial: str
    room: str
    hardware_revision: str
    module_type: str
    found: Sheet = field(default_factory=dict)
    other: Mapping[str, str] = field(default_factory=dict)
    read_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class SiteUnits:
    """A site, its units, and what is approved and known to go together there."""

    name: str
    address: str
    demo: bool
    units: tuple[SiteUnit, ...]
    approved_builds: tuple[ApprovedBuild, ...] = ()
    matches: tuple[Match, ...] = ()

"""A unit as it was read, and as the inventory keeps it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from fleet.model.geometry import Pose
from fleet.model.house import PlannedUnit
from fleet.model.sheets import Sheet
from fleet.model.templates import Planned


@dataclass(frozen=True, slots=True)
class Sighting:
    """An advert that was heard, or an address that was typed in.

    Attributes:
        name: the advert's instance name; the address for a unit added by hand.
        url: where its description lies.
        heard_at: when, house time UTC.
        host: the `.local` name that the unit advertises as its own; "" where none was heard.
        service_type: what it was advertised under, for example "_wot._tcp"; "" for none.
        txt: keys of its TXT record in lower case with their values as text.
    """

    name: str
    url: str
    heard_at: datetime
    host: str = ""
    service_type: str = ""
    txt: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Reading:
    """All that was read from a unit at one time.

    Attributes:
        serial: the key of the unit.
        url: where its description lies.
        title: what it calls itself.
        sheet: the sheet *found* (see `fleet.model.sheets`).
        capabilities: what it can do, names with units (`max_range_mm`, `max_areas`, ...).
        area_revision: revision of its area set; None where it doesn't say.
        other: everything else it says, by its own name: value and unit as words.
        read_at: when, house time UTC.
        missing: what a unit should say and this one doesn't, in words.
        complaints: what is odd about its description, in words.
        access: how it lets people in, in words: "open", "password over http", ...; "" while unknown.
    """

    serial: str
    url: str
    title: str
    sheet: Sheet
    read_at: datetime
    capabilities: Mapping[str, int | str | bool | float] = field(default_factory=dict)
    area_revision: int | None = None
    signal_dbm: int | None = None
    other: Mapping[str, str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()
    complaints: tuple[str, ...] = ()
    access: str = ""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of the inventory: its line in the schedule and its three sheets.

    Attributes:
        line: the schedule's line; its serial is the key.
        planned: the sheet planned, areas compiled into the unit's view.
        found: the last reading, None while it was never read.
        as_left: the sheet at the last sign-off, None while there was none.
        left_at: when that was.
        mount: how it is fixed, as a walk showed it (but for the height); None where none did.
        planned_from: item → where its planned value comes from.
    """

    line: PlannedUnit
    planned: Sheet
    found: Reading | None = None
    as_left: Sheet | None = None
    left_at: datetime | None = None
    mount: Pose | None = None
    planned_from: Mapping[str, Planned] = field(default_factory=dict)

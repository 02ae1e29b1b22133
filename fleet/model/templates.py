"""Room templates: what should stand in rooms of a kind, and where each planned value comes from.

A template belongs to the whole site, to a kind of room, or to one room; what it sets may be meant for
one type of module alone. The nearer level wins: site, room kind, room, unit; within a level, what is
meant for the unit's module type wins over what is meant for all. The unit level is no template: it is
the unit's line in the schedule, and above that what a person decided.

`Template` is also the format of a template file (JSON, `resources/schemas/template.schema.json`): a
member of the file for each attribute.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from fleet.model.house import ModuleType
from fleet.model.sheets import Value

FORMAT = "walkdown-template/1"


class Level(StrEnum):
    """How near a value is to the unit, the farthest first."""

    SITE = "site"
    ROOM_KIND = "room kind"
    ROOM = "room"
    UNIT = "unit"


@dataclass(frozen=True, slots=True)
class SettingRule:
    """Settings for units of one module type, or (None) of any.

    Attributes:
        values: by the part of the sheet key after "setting.".
        why: the reason, for whoever asks where a value comes from.
    """

    values: Mapping[str, int | str | bool]
    module_type: ModuleType | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class AddedItem:
    """A checklist item that a template adds: a person ticks it, or takes a photograph."""

    key: str
    text: str
    evidence: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A checklist item that a template leaves out, and why that is right."""

    key: str
    why: str


@dataclass(frozen=True, slots=True)
class ChecklistRule:
    """Items for rooms with modules of one type, or (None) for all rooms.

    Items are added where any unit of the room has that module, and left out only where all have it.
    """

    add: tuple[AddedItem, ...] = ()
    leave_out: tuple[LeftOut, ...] = ()
    module_type: ModuleType | None = None


@dataclass(frozen=True, slots=True)
class Template:
    """What should stand at one level.

    Attributes:
        level: site, room kind or room.
        subject: the kind of room, or the room's key; "" for the site.
        settings: later ones win over earlier ones of the same module type.
        checklist: which items are added or left out.
        note: what it rests on, for example "common practice, no source".
        format: the file format.
    """

    level: Level
    subject: str = ""
    settings: tuple[SettingRule, ...] = ()
    checklist: tuple[ChecklistRule, ...] = ()
    note: str = ""
    format: str = FORMAT


@dataclass(frozen=True, slots=True)
class KeptTemplate:
    """A template as a site has it: who set it last, when (house time UTC), and why."""

    template: Template
    by: str
    at: datetime
    why: str


@dataclass(frozen=True, slots=True)
class Decision:
    """A person's decision about one planned item of one unit; a value of None takes it out."""

    value: Value | None
    by: str
    why: str


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a planned value comes from.

    Attributes:
        level: how near to the unit.
        subject: kind of room, room key or unit label; "" for the site.
        part: which part of that, for example "static modules" or "the schedule".
        by: who decided it; "" for nobody in particular.
        why: the reason, "" where none is written down.
    """

    level: Level
    subject: str = ""
    part: str = ""
    by: str = ""
    why: str = ""

    @property
    def words(self) -> str:
        """Say it in words: "unit U03, decided by A. N. because the client asked for it"."""
        said = [f"{self.level} {self.subject}".strip()]
        if self.part:
            said.append(self.part)
        if self.by:
            said.append(f"decided by {self.by}" + (f" because {self.why}" if self.why else ""))
        return ", ".join(said)


@dataclass(frozen=True, slots=True)
class Shadowed:
    """A value that a nearer one stands in for."""

    value: Value
    origin: Origin


@dataclass(frozen=True, slots=True)
class Planned:
    """One planned value and where it comes from.

    Attributes:
        value: what should stand; None where a person took the item out of the plan.
        origin: what it comes from.
        why: the reason, "" where none is written down.
        shadowed: what it stands in for, the nearest first.
    """

    value: Value | None
    origin: Origin
    why: str = ""
    shadowed: tuple[Shadowed, ...] = ()


@dataclass(frozen=True, slots=True)
class OriginRow:
    """One row of the view that says where each planned value comes from.

    Attributes:
        key: the item of the sheet.
        value: what should stand; None where it was taken out of the plan.
        level: how near its origin is to the unit.
        origin: the origin in words.
        why: the reason, "" where none is written down.
        shadowed: what it stands in for, the nearest first: value and origin in words.
    """

    key: str
    value: Value | None
    level: Level
    origin: str
    why: str = ""
    shadowed: tuple[tuple[Value, str], ...] = field(default=())

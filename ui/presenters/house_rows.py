"""Rows of the house tree: site, floors, rooms, units, and what was heard and stands in no schedule."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from fleet.model.findings import FindingKind, Outcome, RoomResult
from fleet.model.house import Room
from fleet.model.snapshot import HouseState, ItemState, LinkState, LiveUnit
from fleet.model.units import Reading, Unit
from ui.presenters.words import MINUS, age_words, is_old

WRONG_KINDS = frozenset(
    {
        FindingKind.GHOST,
        FindingKind.MIRRORED_MOUNT,
        FindingKind.AREA_PAST_WALL,
        FindingKind.BLEED_THROUGH,
        FindingKind.MODULE_SWAPPED,
        FindingKind.FAN,
        FindingKind.LABELS_CROSSED,
    }
)


class RowKind(StrEnum):
    """What a row of the tree stands for."""

    FLOOR = "floor"
    ROOM = "room"
    UNIT = "unit"


@dataclass(frozen=True, slots=True)
class HouseRow:
    """A row: what it stands for, its name, what is said beside it, how it stands.

    Attributes:
        key: key of the floor or room; serial of the unit, or its label where no serial is allotted.
        note: "6 of 16 shown" of a room, what is wrong of a unit, "" for nothing.
        state: the glyph; None for a floor.
    """

    kind: RowKind
    key: str
    text: str
    note: str
    state: ItemState | None
    rows: tuple["HouseRow", ...] = ()


@dataclass(frozen=True, slots=True)
class HeardRow:
    """A unit that was heard and stands in no schedule."""

    serial: str
    text: str
    note: str


@dataclass(frozen=True, slots=True)
class AgeNote:
    """The age of a unit's last report, in words, and whether it has to look old."""

    text: str
    old: bool


def house_rows(house: HouseState) -> tuple[HouseRow, ...]:
    """Return floors with their rooms with their units, in the plan's order."""
    floors = sorted(house.plan.floors, key=lambda floor: floor.level)
    return tuple(
        HouseRow(RowKind.FLOOR, floor.key, floor.name, "", None, _rooms_of(house, floor.key))
        for floor in floors
    )


def shown_of_house(house: HouseState) -> str:
    """Say how much of the whole house is shown: "61 of 95 shown"."""
    items = [item for result in house.rooms.values() for item in result.items]
    shown = sum(item.outcome is Outcome.PASS for item in items)
    return f"{shown} of {len(items)} shown" if items else ""


def heard_rows(house: HouseState) -> tuple[HeardRow, ...]:
    """Return what was heard and is not placed."""
    return tuple(HeardRow(r.serial, _heard_words(r), r.title) for r in house.unplaced)


def heard_hint(house: HouseState) -> str:
    """Say what to do next with the list of what was heard."""
    if house.unplaced:
        return "Drag a unit into a room, or choose it and press Place."
    if not house.sightings:
        return "Nothing heard yet. Press Scan, or add a unit by its address."
    return "Every unit that was heard has its place."


def age_note(live: LiveUnit | None) -> AgeNote:
    """Say how old a unit's last report is."""
    if live is None or live.report_age_s is None:
        return AgeNote("never heard", old=True)
    age = age_words(live.report_age_s)
    if live.link is LinkState.LIVE:
        return AgeNote(age, old=is_old(live.report_age_s))
    return AgeNote(f"{live.link} {age}", old=True)


def age_notes(live: Mapping[str, LiveUnit], serials: tuple[str, ...]) -> dict[str, AgeNote]:
    """Return the ages of several units."""
    return {serial: age_note(live.get(serial)) for serial in serials}


def room_state(result: RoomResult | None, *, wrong: bool = False) -> ItemState:
    """Say how a room stands; only a room with every item shown counts as shown."""
    outcomes = {item.outcome for item in result.items} if result else set()
    if wrong or Outcome.FAIL in outcomes:
        return ItemState.WRONG
    if Outcome.INCONCLUSIVE in outcomes:
        return ItemState.LOOK
    if outcomes == {Outcome.PASS}:
        return ItemState.SHOWN
    return ItemState.TO_DO if Outcome.PASS in outcomes else ItemState.NOT_TESTED


def unit_state(house: HouseState, unit: Unit) -> ItemState:
    """Say how a unit stands."""
    kinds = {finding.kind for finding in house.findings if finding.unit == unit.line.label}
    if kinds & WRONG_KINDS:
        return ItemState.WRONG
    if kinds:
        return ItemState.LOOK
    if unit.found is None:
        return ItemState.NOT_TESTED
    pending = any(change.serial == unit.line.serial for change in house.changes)
    return ItemState.TO_DO if pending else ItemState.SHOWN


def _rooms_of(house: HouseState, floor: str) -> tuple[HouseRow, ...]:
    return tuple(_room_row(house, room) for room in house.plan.rooms if room.floor == floor)


def _room_row(house: HouseState, room: Room) -> HouseRow:
    result = house.rooms.get(room.key)
    rows = tuple(_unit_row(house, u) for u in house.units.values() if u.line.room == room.key)
    return HouseRow(RowKind.ROOM, room.key, room.name, room_note(result), room_state(result), rows)


def room_note(result: RoomResult | None) -> str:
    """Say what is shown of a room, and whether it is signed."""
    if result is None:
        return "no checklist"
    signed = " · signed" if result.signed_by else ""
    return f"{result.shown} of {len(result.items)} shown{signed}"


def _unit_row(house: HouseState, unit: Unit) -> HouseRow:
    line = unit.line
    kinds = [finding.kind for finding in house.findings if finding.unit == line.label]
    note = kinds[0].replace("-", " ") if kinds else ""
    more = f" +{len(kinds) - 1}" if len(kinds) > 1 else ""
    text = f"{line.label} {line.module_type}"
    return HouseRow(
        RowKind.UNIT, line.serial or line.label, text, note + more, unit_state(house, unit)
    )


def _heard_words(reading: Reading) -> str:
    module = str(reading.sheet.get("module.type", "module not said"))
    signal = reading.signal_dbm
    weak = "" if signal is None else f" · {signal} dBm".replace("-", MINUS)
    return f"{reading.serial} · {module}{weak}"

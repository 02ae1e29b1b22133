"""What a hand-over record says: the house as it stands, as integers, words and booleans.

The format is `walkdown-record/1`, `resources/schemas/record.schema.json`. No recording, no path that
somebody walked and nothing about breathing is in it.
"""

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from fleet.model.clock import to_rfc3339
from fleet.model.errors import PlanError, RecordError
from fleet.model.findings import Finding, ItemResult, RoomResult
from fleet.model.geometry import Pose
from fleet.model.house import Room, Signature
from fleet.model.journal import OpenStep
from fleet.model.sheets import Area, Sheet, areas_of
from fleet.model.snapshot import HouseState
from fleet.model.units import Reading, Unit
from fleet.record.cautions import CAUTIONS
from fleet.signing.canonical import in_nfc

FORMAT = "walkdown-record/1"


def record_document(
    house: HouseState,
    *,
    issued_at: datetime,
    by: str,
    speed: float,
    journal_head: str,
    site_number: str = "",
    seed_note: str = "",
) -> dict[str, Any]:
    """Say all that a record says of a house.

    Args:
        house: the state to hand over.
        issued_at: when, house time.
        by: who issues it.
        speed: house seconds a wall second.
        journal_head: SHA-256 of the journal's last row; "" where there is none.
        site_number: the number on the units' labels, see `fleet.record.labels`; "" where there is none.
        seed_note: of a demo: what it was seeded with.

    Raises:
        RecordError: a member can't stand in a record, or a room's signature is not at hand.
    """
    site = house.plan.site
    document: dict[str, Any] = {
        "format": FORMAT,
        "number": f"WD-{issued_at.astimezone(UTC):%Y%m%d-%H%M%S}",
        "issued_at": to_rfc3339(issued_at),
        "issued_by": by,
        "site": {"name": site.name, "address": site.address, "demo": site.demo, "note": site.note},
        "cautions": list(CAUTIONS),
        "visits": [
            {"left_at": to_rfc3339(visit.left_at), "by": visit.by} for visit in house.plan.visits
        ],
        "floors": [
            {"key": floor.key, "name": floor.name, "level": floor.level}
            for floor in house.plan.floors
        ],
        "rooms": [_room(room, house) for room in house.plan.rooms],
        "register": [_unit(unit, _room_names(house)) for unit in house.units.values()],
        "snags": list(_snags(house.findings, _room_names(house))),
        "in_doubt": [_doubtful(step) for step in house.doubtful],
        "journal_head": journal_head,
    }
    if site_number:
        document["site_number"] = site_number
    if site.demo or speed != 1:
        document["demo"] = {"clock": _plain_number(speed), "seed": seed_note}
    return in_nfc(document)


def _room_names(house: HouseState) -> dict[str, str]:
    return {room.key: room.name for room in house.plan.rooms}


def _plain_number(speed: float) -> int | str:
    return int(speed) if speed == int(speed) else f"{speed:g}"


def _room(room: Room, house: HouseState) -> dict[str, Any]:
    units = [unit for unit in house.units.values() if unit.line.room == room.key]
    result = house.rooms.get(room.key, RoomResult(room.key, ()))
    said: dict[str, Any] = {
        "key": room.key,
        "name": room.name,
        "floor": room.floor,
        "kind": room.kind.value,
        "outline_mm": [list(corner) for corner in room.outline_mm],
        "units": [unit.line.label for unit in units],
        "areas": [area for unit in units for area in _areas(unit)],
        "checklist": [_item(item) for item in result.items],
    }
    signature = _signature_of(result, room, house)
    if signature:
        said["signature"] = _signature(signature)
    return said


def _signature_of(result: RoomResult, room: Room, house: HouseState) -> Signature | None:
    signature = house.signatures.get(room.key)
    if result.signed_by and signature is None:
        raise RecordError(
            f"it is accepted by {result.signed_by}, but the signature itself is not at hand.",
            subject=room.name,
            stands="No record was written.",
            next_step="Sign the room again, then issue the record.",
        )
    return signature


def _signature(signature: Signature) -> dict[str, Any]:
    return {
        "name": signature.name,
        "role": signature.role,
        "signed_at": to_rfc3339(signature.signed_at),
        "exceptions": dict(signature.exceptions),
    }


def _item(item: ItemResult) -> dict[str, Any]:
    return {
        "key": item.key,
        "text": item.text,
        "evidence": item.evidence,
        "outcome": item.outcome.value,
        "reason": item.reason,
    }


def _areas(unit: Unit) -> list[dict[str, Any]]:
    """Say the areas last read, in the unit's view; of a unit never read the planned ones."""
    if unit.found is None:
        return [_area(area, unit, "planned", "plan") for area in unit.line.areas]
    try:
        areas = areas_of(unit.found.sheet)
    except PlanError:
        return []  # the unit answered with what is no area; `missing` in the register says so
    return [_area(area, unit, "found", "unit") for area in areas]


def _area(area: Area, unit: Unit, sheet: str, frame: str) -> dict[str, Any]:
    return {
        "unit": unit.line.label,
        "key": area.key,
        "label": area.label,
        "kind": area.kind.value,
        "sheet": sheet,
        "frame": frame,
        "outline_mm": [list(corner) for corner in area.outline_mm],
    }


def _unit(unit: Unit, room_names: dict[str, str]) -> dict[str, Any]:
    line, found = unit.line, unit.found.sheet if unit.found else {}
    said: dict[str, Any] = {
        "label": line.label,
        "serial": line.serial,
        "room": room_names.get(line.room, line.room),
        "planned_module": line.module_type.value,
        "module": _word(found, "module.type"),
        "module_firmware": _word(found, "module.firmware"),
        "hardware": _word(found, "hardware.revision"),
        "build_version": _word(found, "build.version"),
        "build_id": _word(found, "build.id"),
        "pose": _pose(line.pose),
        "found": _settings(found),
        "as_left": _settings(unit.as_left or {}),
        "missing": _missing(unit),
    }
    if unit.found:
        said |= _besides(unit.found)
    if unit.left_at:
        said["left_at"] = to_rfc3339(unit.left_at)
    return said


def _besides(found: Reading) -> dict[str, Any]:
    """Say everything else that a unit said when it was read: nothing is dropped for want of a use."""
    can = {name: str(value) for name, value in found.capabilities.items()}
    # Breathing can reveal somebody's health, whatever a unit calls it: it never leaves with a record.
    says = {name: said for name, said in found.other.items() if "breath" not in name.lower()}
    if found.signal_dbm is not None:
        says["signal"] = f"{found.signal_dbm} dBm"
    return {
        "read_at": to_rfc3339(found.read_at),
        "lets_in": found.access,
        "says": says,
        "can": can,
    }


def _word(sheet: Sheet, key: str) -> str:
    return str(sheet.get(key, ""))


def _settings(sheet: Sheet) -> dict[str, Any]:
    return {key: value for key, value in sheet.items() if not key.startswith("areas.")}


def _missing(unit: Unit) -> list[str]:
    if unit.found is None:
        return ["never read"]
    try:
        areas_of(unit.found.sheet)
    except PlanError as reason:
        return [*unit.found.missing, str(reason)]
    return list(unit.found.missing)


def _pose(pose: Pose) -> dict[str, Any]:
    return {
        "x_mm": pose.x_mm,
        "y_mm": pose.y_mm,
        "heading_mdeg": pose.heading_mdeg,
        "upside_down": pose.upside_down,
        "height_mm": pose.height_mm,
    }


def _snags(findings: Iterable[Finding], room_names: dict[str, str]) -> Iterable[dict[str, Any]]:
    for finding in findings:
        yield {
            "room": room_names.get(finding.room, finding.room),
            "unit": finding.unit,
            "kind": finding.kind.value,
            "reason": finding.reason,
            "evidence": dict(finding.evidence),
        }


def _doubtful(step: OpenStep) -> dict[str, Any]:
    return {
        "unit": step.step.label,
        "part": step.step.part,
        "intended_at": to_rfc3339(step.intended_at),
        "state": step.state.value,
        "said": step.said,
    }

"""What the earlier visit to a house of a test left behind: sheets, rooms shown, signatures."""

from dataclasses import replace
from datetime import UTC, datetime

from fleet.model.house import EarlierVisit, Room, RoomVisit, Signature, SoakNote
from fleet.model.sheets import Sheet, areas_to_items
from fleet.simulator.truth import TrueUnit
from tests.houses.house import House

LEFT_AT = datetime(2026, 9, 3, 15, 40, tzinfo=UTC)


def visited(
    house: House,
    *,
    items: dict[str, tuple[str, ...]],
    exceptions: dict[str, dict[str, str]],
    soaks: tuple[SoakNote, ...],
    signer: str,
    by: str,
) -> House:
    """Write down the earlier visit: sheets as they stand now, every room shown and signed.

    Args:
        house: as it stood at that visit.
        items: room kind → checklist items.
        exceptions: room key → item → why it was signed for though not shown.
        soaks: soak trials of that visit.
        signer: who signed.
        by: who was there.
    """
    unit_of = {unit.serial: unit for unit in house.truth.units}
    as_left = {unit.label: found_sheet(unit_of[unit.serial]) for unit in house.plan.units}
    rooms = tuple(
        _room_visit(room, items[room.kind], exceptions.get(room.key, {}), signer)
        for room in house.plan.rooms
    )
    visit = EarlierVisit(LEFT_AT, by, as_left, rooms, soaks)
    return replace(house, plan=replace(house.plan, visits=(visit,)))


def _room_visit(
    room: Room, items: tuple[str, ...], exceptions: dict[str, str], signer: str
) -> RoomVisit:
    shown = tuple(item for item in items if item not in exceptions)
    signature = Signature(signer, "client", LEFT_AT, exceptions)
    return RoomVisit(room.key, shown, tuple(exceptions), signature)


def found_sheet(unit: TrueUnit) -> Sheet:
    """Return the sheet that reading this unit gives."""
    return {
        "hardware.revision": unit.hardware_revision,
        "module.type": unit.module_type.value,
        "module.firmware": unit.module_firmware,
        "build.version": unit.build.version,
        "build.id": unit.build.build_id,
        "build.sequence": unit.build.sequence,
        "build.image_digest": unit.build.image_digest,
        **{f"setting.{key}": value for key, value in unit.settings.items()},
        **areas_to_items(unit.areas),
    }

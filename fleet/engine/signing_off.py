"""What a person says of a room: items that they did, and that they accept it."""

from fleet.inventory.inventory import Inventory
from fleet.jobs.signing import refuse_unfit_signature
from fleet.model.errors import PlanError
from fleet.model.house import Room, Signature
from fleet.model.snapshot import HouseState


def tick_item(
    inventory: Inventory, house: HouseState, room: str, key: str, *, by: str, said: str
) -> None:
    """Keep that a person did an item of a room's checklist.

    Raises:
        PlanError: there is no such item, or evidence alone can answer it.
    """
    items = {item.key: item for item in house.rooms[room].items}
    if key not in items or items[key].evidence not in ("tick", "photo"):
        raise PlanError(f"{key!r} can't be ticked by hand.", subject=room)
    inventory.save_tick(room, key, by=by, said=said)


def accept_room(inventory: Inventory, house: HouseState, room: Room, signature: Signature) -> None:
    """Keep that a person accepted a room; its units' sheets as found become as left.

    Raises:
        PlanError: something is neither shown nor excepted, or nobody is named.
    """
    refuse_unfit_signature(
        house.rooms[room.key], room.name, signature.name, signature.role, signature.exceptions
    )
    inventory.save_signature(room.key, signature)
    for unit in house.units.values():
        if unit.line.room == room.key and unit.found is not None:
            why = f"signed by {signature.name}"
            inventory.save_as_left(unit.line.serial, unit.found.sheet, signature.signed_at, why=why)

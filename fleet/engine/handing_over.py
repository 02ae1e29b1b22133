"""Issuing the hand-over record: content from the house's state, drawings, signature, files."""

import asyncio
from collections.abc import Callable
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fleet.drawing.room import draw_room
from fleet.drawing.svg import to_svg
from fleet.inventory.inventory import Inventory
from fleet.model.clock import Clock
from fleet.model.errors import PlanError
from fleet.model.snapshot import HouseState
from fleet.record.content import record_document
from fleet.record.issuing import issue
from fleet.record.labels import site_number

KeySource = Callable[[], Ed25519PrivateKey]


async def issue_record(
    inventory: Inventory,
    house: HouseState,
    clock: Clock,
    folder: Path,
    *,
    by: str,
    key_source: KeySource | None,
) -> Path:
    """Issue a record into a folder; return the folder.

    Args:
        inventory: its journal's head goes into the record, and a row about the record into it.
        house: what the record says.
        clock: dates it.
        folder: a new or empty folder.
        by: who issues it.
        key_source: gives the key that signs it.

    Raises:
        PlanError: there is no key, or nobody is named.
        RecordError: the folder is taken, or the record can't be laid out.
    """
    if key_source is None or not by.strip():
        raise PlanError(
            "a record needs a key and the name of the person who issues it.",
            stands="No record was issued.",
        )
    rows = inventory.journal()
    document = record_document(
        house,
        issued_at=clock.now(),
        by=by,
        speed=clock.speed,
        journal_head=rows[-1].sha256 if rows else "",
        site_number=site_number(rows, house.plan.site.name),
    )
    svgs = {
        room.key: to_svg(
            draw_room(room, [unit for unit in house.units.values() if unit.line.room == room.key])
        )
        for room in house.plan.rooms
    }
    issued = await asyncio.to_thread(issue, folder, document, svgs, key_source())
    inventory.append("record-issued", "", {"digest": issued.digest, "by": by})
    return folder

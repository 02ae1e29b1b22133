"""Every sheet that is kept of a unit: as it was found each time it was read, and as it was left.

1. A sheet is known by the number of its row, "sheet-17".
2. Readings in a row that found the same are one, dated by the first: nothing changed in between.
3. The first reading after a pause of half a day or more is *as found* of a visit: nobody stays on a ladder
   for that long, and a visit that was cut off and begun again within the day is one visit.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleet.inventory.belief_tables import ReadingRow, SheetRow
from fleet.inventory.sheets import FOUND, sheets_of
from fleet.inventory.sites import current_site_id, of_site
from fleet.model.sheets import Sheet

AS_FOUND = "as found"
BETWEEN_VISITS = timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class KeptSheet:
    """One sheet that is kept of a unit.

    Attributes:
        key: what it is called by, "sheet-17".
        kind: "as found" (first of a visit), "found" (read later on), or "as left".
        at: when it was read, or left.
        why: why it is kept.
        sheet: its items.
        says_areas: whether it knows the unit's areas, so that one that isn't in it wasn't there; else an
            area that is missing may just not have been read.
    """

    key: str
    kind: str
    at: datetime
    why: str
    sheet: Sheet
    says_areas: bool


def kept_sheets_of(session: Session, serial: str) -> tuple[KeptSheet, ...]:
    """Return every sheet that is kept of a unit, oldest first."""
    of_unit = SheetRow.serial == serial, of_site(SheetRow.site_id, current_site_id(session))
    rows = session.execute(
        select(SheetRow.id, SheetRow.kind, SheetRow.at, SheetRow.why, ReadingRow.area_revision)
        .outerjoin(ReadingRow, ReadingRow.sheet_id == SheetRow.id)
        .where(*of_unit)
        .order_by(SheetRow.id)
    ).all()
    items = sheets_of(session, select(SheetRow.id).where(*of_unit))
    kept = [
        KeptSheet(
            f"sheet-{number}",
            kind,
            at,
            why,
            items.get(number, {}),
            revision is not None or any(key.startswith("areas.") for key in items.get(number, {})),
        )
        for number, kind, at, why, revision in rows
    ]
    left = [sheet for sheet in kept if sheet.kind != FOUND]
    found = _told_apart([sheet for sheet in kept if sheet.kind == FOUND])
    return tuple(sorted([*left, *found], key=lambda sheet: (sheet.at, _number(sheet))))


def _told_apart(found: Sequence[KeptSheet]) -> Iterable[KeptSheet]:
    """Yield the readings that say something new: the first of each visit, and each that differs."""
    last: KeptSheet | None = None
    for sheet in found:
        if last is None or sheet.at - last.at >= BETWEEN_VISITS:
            yield replace(sheet, kind=AS_FOUND, why="first reading of a visit")
        elif sheet.sheet != last.sheet:
            yield sheet
        last = sheet


def _number(sheet: KeptSheet) -> int:
    return int(sheet.key.removeprefix("sheet-"))

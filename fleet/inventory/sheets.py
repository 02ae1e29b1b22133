"""Sheets, readings and sightings: what was found, what was left, where it was heard."""

from collections.abc import Iterable, Mapping
from datetime import datetime

import msgspec
from sqlalchemy import Select, func, insert, select
from sqlalchemy.orm import Session

from fleet.inventory.belief_tables import ReadingRow, SheetItemRow, SheetRow, SightingRow
from fleet.inventory.sites import current_site_id, of_site
from fleet.inventory.texts import storable
from fleet.model.sheets import Sheet, Value
from fleet.model.units import Reading, Sighting

FOUND = "found"
AS_LEFT = "as left"


def add_sheet(session: Session, sheet: Sheet, kept: SheetRow) -> int:
    """Keep a sheet under a row that says whose it is; return the row's id."""
    session.add(kept)
    session.flush()
    items = {storable(key): value for key, value in sheet.items()}
    rows = [{"sheet_id": kept.id, "key": key, "value": value} for key, value in items.items()]
    if rows:
        session.execute(insert(SheetItemRow), rows)
    return kept.id


def add_reading(session: Session, reading: Reading) -> None:
    """Keep a reading beside the older ones."""
    site_id = current_site_id(session)
    read = SheetRow(
        site_id=site_id, kind=FOUND, serial=reading.serial, at=reading.read_at, why="read"
    )
    sheet_id = add_sheet(session, reading.sheet, read)
    session.add(
        ReadingRow(
            site_id=site_id,
            serial=reading.serial,
            sheet_id=sheet_id,
            url=reading.url,
            title=reading.title,
            read_at=reading.read_at,
            capabilities=reading.capabilities,
            area_revision=reading.area_revision,
            signal_dbm=reading.signal_dbm,
            other=reading.other,
            missing=reading.missing,
            complaints=reading.complaints,
            access=reading.access,
        )
    )


def latest_readings(session: Session) -> Mapping[str, Reading]:
    """Return serial → the reading that came in last, in the order of serials."""
    mine = of_site(ReadingRow.site_id, current_site_id(session))
    latest = select(func.max(ReadingRow.id)).where(mine).group_by(ReadingRow.serial)
    rows = session.scalars(
        select(ReadingRow).where(ReadingRow.id.in_(latest)).order_by(ReadingRow.serial)
    ).all()
    sheets = sheets_of(session, select(ReadingRow.sheet_id).where(ReadingRow.id.in_(latest)))
    return {row.serial: _reading_of(row, sheets.get(row.sheet_id, {})) for row in rows}


def latest_left(session: Session) -> Mapping[str, tuple[Sheet, datetime]]:
    """Return serial → the sheet that was left last, and when."""
    latest = (
        select(func.max(SheetRow.id))
        .where(
            of_site(SheetRow.site_id, current_site_id(session)),
            SheetRow.kind == AS_LEFT,
            SheetRow.serial.is_not(None),
        )
        .group_by(SheetRow.serial)
    )
    rows = session.execute(
        select(SheetRow.id, SheetRow.serial, SheetRow.at)
        .where(SheetRow.id.in_(latest))
        .order_by(SheetRow.serial)
    ).all()
    sheets = sheets_of(session, latest)
    return {str(serial): (sheets.get(number, {}), at) for number, serial, at in rows}


def sheets_of(session: Session, numbers: Select[tuple[int]]) -> Mapping[int, Sheet]:
    """Return sheet id → the sheet, for the ids that a query gives."""
    rows = session.execute(
        select(SheetItemRow.sheet_id, SheetItemRow.key, SheetItemRow.value)
        .where(SheetItemRow.sheet_id.in_(numbers))
        .order_by(SheetItemRow.sheet_id, SheetItemRow.key)
    )
    return _gathered((number, key, value) for number, key, value in rows)


def put_sighting(session: Session, serial: str, sighting: Sighting) -> None:
    """Keep where a unit was last heard."""
    site_id = current_site_id(session)
    row = session.scalars(
        select(SightingRow).where(
            of_site(SightingRow.site_id, site_id), SightingRow.serial == serial
        )
    ).one_or_none()
    if row is None:
        row = SightingRow(site_id=site_id, serial=serial)
        session.add(row)
    row.name, row.url = sighting.name, sighting.url
    row.host, row.heard_at = sighting.host, sighting.heard_at
    row.service_type, row.txt = sighting.service_type, sighting.txt


def all_sightings(session: Session) -> Mapping[str, Sighting]:
    """Return serial → where it was last heard, in the order of serials."""
    rows = session.scalars(
        select(SightingRow)
        .where(of_site(SightingRow.site_id, current_site_id(session)))
        .order_by(SightingRow.serial)
    )
    return {
        row.serial: Sighting(
            row.name, row.url, row.heard_at, row.host, row.service_type, dict(row.txt)
        )
        for row in rows
    }


def _gathered(rows: Iterable[tuple[int, str, Value]]) -> dict[int, dict[str, Value]]:
    sheets: dict[int, dict[str, Value]] = {}
    for number, key, value in rows:
        sheets.setdefault(number, {})[key] = value
    return sheets


def _reading_of(row: ReadingRow, sheet: Sheet) -> Reading:
    return Reading(
        serial=row.serial,
        url=row.url,
        title=row.title,
        sheet=sheet,
        read_at=row.read_at,
        capabilities=row.capabilities,
        area_revision=row.area_revision,
        signal_dbm=row.signal_dbm,
        other=row.other,
        missing=msgspec.convert(row.missing, tuple[str, ...]),
        complaints=msgspec.convert(row.complaints, tuple[str, ...]),
        access=row.access,
    )

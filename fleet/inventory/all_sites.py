"""Builds over every site that the inventory ever held: as many queries for one site as for a thousand."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any, TypeVar

import msgspec
from sqlalchemy import Select, func, or_, select
from sqlalchemy.orm import Session

from fleet.inventory import tables as t
from fleet.inventory.belief_tables import ReadingRow, SheetItemRow
from fleet.model.all_sites import SiteUnit, SiteUnits
from fleet.model.house import ApprovedBuild, Match
from fleet.model.sheets import Sheet

_OF_BUILDS = ("hardware.", "module.", "build.")
_BUILD = (
    "hardware_revision", "module_type", "version", "build_id", "sequence", "image_digest", "earlier",
)  # fmt: skip
_MATCH = ("hardware_revision", "module_type", "module_firmware", "version")

_Reading = tuple[Sheet, ReadingRow]
_Readings = dict[tuple[int | None, str], _Reading]

_Placed = TypeVar("_Placed", t.ApprovedBuildRow, t.BuildMatchRow)
"""Tables whose rows keep their place in a site's plan."""


def all_site_units(session: Session) -> tuple[SiteUnits, ...]:
    """Return every site with its units' last readings, in the order in which sites were added.

    Raises:
        ValueError: the tables hold what no plan can.
    """
    units = _units(session, _last_readings(session))
    builds = _by_site(session.scalars(_ordered(t.ApprovedBuildRow)))
    matches = _by_site(session.scalars(_ordered(t.BuildMatchRow)))
    return tuple(
        SiteUnits(
            site.name,
            site.address,
            site.demo,
            tuple(units.get(site.id, ())),
            tuple(_build_of(row) for row in builds.get(site.id, ())),
            tuple(_match_of(row) for row in matches.get(site.id, ())),
        )
        for site in session.scalars(select(t.SiteRow).order_by(t.SiteRow.id))
    )


def _ordered(table: type[_Placed]) -> Select[tuple[_Placed]]:
    return select(table).order_by(table.site_id, table.position)


def _by_site(rows: Iterable[Any]) -> dict[int, list[Any]]:
    grouped: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        grouped[row.site_id].append(row)
    return grouped


def _units(session: Session, readings: _Readings) -> dict[int, list[SiteUnit]]:
    rows = session.execute(
        select(t.UnitRow, t.RoomRow.name)
        .join(
            t.RoomRow, (t.RoomRow.site_id == t.UnitRow.site_id) & (t.RoomRow.key == t.UnitRow.room)
        )
        .order_by(t.UnitRow.site_id, t.UnitRow.position)
    )
    units: dict[int, list[SiteUnit]] = defaultdict(list)
    for row, room in rows:
        units[row.site_id].append(
            _unit_of(row, room, readings.get((row.site_id, row.serial or "")))
        )
    return units


def _unit_of(row: t.UnitRow, room: str, read: _Reading | None) -> SiteUnit:
    line = (row.label, row.serial or "", room, row.hardware_revision, row.module_type)
    if read is None:
        return SiteUnit(*line)
    sheet, reading = read
    return SiteUnit(*line, sheet, reading.other, reading.read_at)


def _last_readings(session: Session) -> _Readings:
    latest = select(func.max(ReadingRow.id)).group_by(ReadingRow.site_id, ReadingRow.serial)
    sheets: dict[int, dict[str, Any]] = defaultdict(dict)
    of_builds = or_(*(SheetItemRow.key.startswith(head) for head in _OF_BUILDS))
    sheet_ids = select(ReadingRow.sheet_id).where(ReadingRow.id.in_(latest))
    for number, key, value in session.execute(
        select(SheetItemRow.sheet_id, SheetItemRow.key, SheetItemRow.value).where(
            SheetItemRow.sheet_id.in_(sheet_ids), of_builds
        )
    ):
        sheets[number][key] = value
    rows = session.scalars(select(ReadingRow).where(ReadingRow.id.in_(latest)))
    return {(row.site_id, row.serial): (sheets[row.sheet_id], row) for row in rows}


def _build_of(row: t.ApprovedBuildRow) -> ApprovedBuild:
    return msgspec.convert({name: getattr(row, name) for name in _BUILD}, ApprovedBuild)


def _match_of(row: t.BuildMatchRow) -> Match:
    members = {name: getattr(row, name) for name in _MATCH}
    return msgspec.convert({**members, "match": row.word}, Match)

"""Rebuilding a site's plan from the tables, with what changed since it was taken over."""

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

import msgspec
from sqlalchemy import select
from sqlalchemy.orm import Session

from fleet.inventory import tables as t
from fleet.inventory.belief_tables import (
    RoomVisitRow,
    SheetRow,
    SignatureRow,
    SoakNoteRow,
    VisitRow,
)
from fleet.inventory.sheets import sheets_of
from fleet.inventory.sites import needed_site
from fleet.model.house import HousePlan
from fleet.model.sheets import Sheet

_PlanPart = type[t.FloorRow | t.RoomRow | t.ApprovedBuildRow | t.BuildMatchRow]
_VisitPart = TypeVar("_VisitPart", SoakNoteRow, RoomVisitRow)


def rebuilt_plan(session: Session) -> HousePlan:
    """Return the current site's plan.

    Raises:
        PlanError: there is no site yet.
        ValueError: the tables hold what no plan can.
    """
    site = needed_site(session)
    document = {
        "site": _columns(site, "name", "address", "demo", "note"),
        "floors": _rows(session, t.FloorRow, site.id, "key", "name", "level"),
        "rooms": _rows(session, t.RoomRow, site.id, *_ROOM),
        "units": _units(session, site.id),
        "approved_builds": _rows(session, t.ApprovedBuildRow, site.id, *_BUILD),
        "matches": _matches(session, site.id),
        "visits": _visits(session, site.id),
        "format": site.plan_format,
    }
    return msgspec.convert(document, HousePlan)


_ROOM = ("key", "name", "floor", "kind", "outline_mm", "doors", "marks")
_POSE = ("x_mm", "y_mm", "heading_mdeg", "upside_down", "height_mm")
_LINE = ("label", "room", "module_type", "hardware_revision")
_BUILD = (
    "hardware_revision",
    "module_type",
    "version",
    "build_id",
    "sequence",
    "image_digest",
    "earlier",
)
_MATCH = ("hardware_revision", "module_type", "module_firmware", "version")


def _rows(session: Session, table: _PlanPart, site_id: int, *names: str) -> list[dict[str, Any]]:
    rows = session.scalars(select(table).where(table.site_id == site_id).order_by(table.position))
    return [_columns(row, *names) for row in rows]


def _columns(row: t.Table, *names: str) -> dict[str, Any]:
    return {name: getattr(row, name) for name in names}


def _matches(session: Session, site_id: int) -> list[dict[str, Any]]:
    rows = _rows(session, t.BuildMatchRow, site_id, *_MATCH, "word")
    return [{**row, "match": row.pop("word")} for row in rows]


def _units(session: Session, site_id: int) -> list[dict[str, Any]]:
    settings: dict[str, dict[str, Any]] = {}
    for setting in session.scalars(
        select(t.UnitSettingRow)
        .where(t.UnitSettingRow.site_id == site_id)
        .order_by(t.UnitSettingRow.position)
    ):
        settings.setdefault(setting.label, {})[setting.key] = setting.value
    areas = _by_label(session, site_id)
    rows = session.scalars(
        select(t.UnitRow).where(t.UnitRow.site_id == site_id).order_by(t.UnitRow.position)
    )
    return [
        {
            **_columns(row, *_LINE),
            "serial": row.serial or "",
            "pose": _columns(row, *_POSE),
            "settings": settings.get(row.label, {}),
            "areas": areas.get(row.label, []),
        }
        for row in rows
    ]


def _by_label(session: Session, site_id: int) -> Mapping[str, list[dict[str, Any]]]:
    areas: dict[str, list[dict[str, Any]]] = {}
    for area in session.scalars(
        select(t.UnitAreaRow)
        .where(t.UnitAreaRow.site_id == site_id)
        .order_by(t.UnitAreaRow.position)
    ):
        areas.setdefault(area.label, []).append(
            {"label": area.name, **_columns(area, "key", "kind", "outline_mm")}
        )
    return areas


def _visits(session: Session, site_id: int) -> list[dict[str, Any]]:
    rows = session.scalars(
        select(VisitRow).where(VisitRow.site_id == site_id).order_by(VisitRow.position)
    )
    return [
        {
            "left_at": row.left_at,
            "by": row.by,
            "as_left": _left(session, row.id),
            "rooms": _room_visits(session, row.id),
            "soaks": [
                {"unit": note.label, "empty_s": note.empty_s, "episodes": note.episodes}
                for note in _of_visit(session, SoakNoteRow, row.id)
            ],
        }
        for row in rows
    ]


def _left(session: Session, visit_id: int) -> Mapping[str, Sheet]:
    of_visit = SheetRow.visit_id == visit_id
    rows = session.execute(select(SheetRow.id, SheetRow.label).where(of_visit)).all()
    sheets = sheets_of(session, select(SheetRow.id).where(of_visit))
    return {str(label): sheets.get(number, {}) for number, label in rows}


def _room_visits(session: Session, visit_id: int) -> list[dict[str, Any]]:
    signed = {
        row.visit_position: _columns(row, "name", "role", "signed_at", "exceptions")
        for row in session.scalars(select(SignatureRow).where(SignatureRow.visit_id == visit_id))
    }
    return [
        {**_columns(row, "room", "shown", "open"), "signature": signed.get(row.position)}
        for row in _of_visit(session, RoomVisitRow, visit_id)
    ]


def _of_visit(session: Session, table: type[_VisitPart], visit_id: int) -> Iterable[_VisitPart]:
    return session.scalars(select(table).where(table.visit_id == visit_id).order_by(table.position))

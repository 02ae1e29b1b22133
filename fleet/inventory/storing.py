"""Taking a plan over into the tables."""

from datetime import datetime
from typing import Any

import msgspec
from sqlalchemy import insert
from sqlalchemy.orm import Session

from fleet.inventory.belief_tables import (
    RoomVisitRow,
    SheetRow,
    SignatureRow,
    SoakNoteRow,
    VisitRow,
)
from fleet.inventory.lines import add_line
from fleet.inventory.sheets import AS_LEFT, add_sheet
from fleet.inventory.sites import site_names, take_over_strays
from fleet.inventory.tables import (
    ApprovedBuildRow,
    BuildMatchRow,
    FloorRow,
    RoomRow,
    SiteRow,
    Table,
)
from fleet.model.errors import PlanError
from fleet.model.house import EarlierVisit, HousePlan
from fleet.model.plans import complaints_about


def store_plan(session: Session, plan: HousePlan, now: datetime) -> None:
    """Take a plan over as a new site; the first site is the current one at once.

    Raises:
        PlanError: a site of that name is there, or the plan doesn't hold together.
    """
    taken = site_names(session)
    _refuse(plan, taken)
    site = SiteRow(
        **msgspec.to_builtins(plan.site),
        plan_format=plan.format,
        added_at=now,
        chosen_order=0 if taken else 1,
    )
    session.add(site)
    session.flush()
    if not taken:
        take_over_strays(session, site.id)
    _store_places(session, plan, site.id)
    for position, line in enumerate(plan.units):
        add_line(session, site.id, line, position, now)
    for position, visit in enumerate(plan.visits):
        _store_visit(session, plan, site.id, visit, position)


def _refuse(plan: HousePlan, taken: tuple[str, ...]) -> None:
    complaint = next(iter(complaints_about(plan)), "")
    if plan.site.name in taken:
        complaint = "a site of that name is there already"
    if complaint:
        raise PlanError(
            f"the plan can't be taken over: {complaint}.",
            subject=plan.site.name,
            stands="Nothing was stored of it.",
            next_step="Give the site another name."
            if plan.site.name in taken
            else "Mend the plan.",
        )


def _store_places(session: Session, plan: HousePlan, site_id: int) -> None:
    _add(session, FloorRow, [_placed(site_id, n, item) for n, item in enumerate(plan.floors)])
    _add(session, RoomRow, [_placed(site_id, n, item) for n, item in enumerate(plan.rooms)])
    builds = [_placed(site_id, n, item) for n, item in enumerate(plan.approved_builds)]
    _add(session, ApprovedBuildRow, builds)
    matches = [_placed(site_id, n, item) for n, item in enumerate(plan.matches)]
    _add(session, BuildMatchRow, [{**row, "word": row.pop("match")} for row in matches])


def _store_visit(
    session: Session, plan: HousePlan, site_id: int, visit: EarlierVisit, position: int
) -> None:
    row = VisitRow(site_id=site_id, position=position, left_at=visit.left_at, by=visit.by)
    session.add(row)
    session.flush()
    serials = {line.label: line.serial for line in plan.units}
    for label, sheet in visit.as_left.items():
        left = SheetRow(
            site_id=site_id,
            kind=AS_LEFT,
            serial=serials[label] or None,
            label=label,
            visit_id=row.id,
            at=visit.left_at,
            why=f"left by {visit.by}",
        )
        add_sheet(session, sheet, left)
    soaks = [
        {"visit_id": row.id, "position": n, "site_id": site_id, "label": note.unit}
        | {"empty_s": note.empty_s, "episodes": note.episodes}
        for n, note in enumerate(visit.soaks)
    ]
    _add(session, SoakNoteRow, soaks)
    _store_room_visits(session, site_id, row.id, visit)


def _store_room_visits(session: Session, site_id: int, visit_id: int, visit: EarlierVisit) -> None:
    rooms = [
        {"visit_id": visit_id, "position": n, "site_id": site_id, "room": seen.room}
        | {"shown": seen.shown, "open": seen.open}
        for n, seen in enumerate(visit.rooms)
    ]
    _add(session, RoomVisitRow, rooms)
    signed = [
        {"site_id": site_id, "room": seen.room, "visit_id": visit_id, "visit_position": n}
        | {"name": seen.signature.name, "role": seen.signature.role}
        | {"signed_at": seen.signature.signed_at, "exceptions": seen.signature.exceptions}
        for n, seen in enumerate(visit.rooms)
        if seen.signature is not None
    ]
    _add(session, SignatureRow, signed)


def _placed(site_id: int, position: int, value: object) -> dict[str, Any]:
    return {"site_id": site_id, "position": position, **msgspec.to_builtins(value)}


def _add(session: Session, table: type[Table], rows: list[dict[str, Any]]) -> None:
    if rows:
        session.execute(insert(table), rows)

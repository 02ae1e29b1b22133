"""Lines of the unit schedule: into the tables, and what a person overrode of what they plan."""

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import delete, func, insert, select, update
from sqlalchemy.orm import Session

from fleet.inventory.belief_tables import PlannedItemRow, SheetRow
from fleet.inventory.sheets import AS_LEFT
from fleet.inventory.sites import needed_site
from fleet.inventory.tables import RoomRow, UnitAreaRow, UnitRow, UnitSettingRow
from fleet.model.errors import PlanError
from fleet.model.house import PlannedUnit
from fleet.model.sheets import Value


def add_line(
    session: Session, site_id: int, line: PlannedUnit, position: int, now: datetime
) -> None:
    """Add a line of the schedule with its planned settings and areas."""
    session.add(
        UnitRow(
            site_id=site_id,
            label=line.label,
            position=position,
            serial=line.serial or None,
            room=line.room,
            module_type=line.module_type.value,
            hardware_revision=line.hardware_revision,
            x_mm=line.pose.x_mm,
            y_mm=line.pose.y_mm,
            heading_mdeg=line.pose.heading_mdeg,
            upside_down=line.pose.upside_down,
            height_mm=line.pose.height_mm,
            changed_at=now,
        )
    )
    session.flush()
    _add_planned(session, site_id, line)


def put_line(session: Session, line: PlannedUnit, now: datetime) -> None:
    """Add a line, or replace the one of the same label at its place in the schedule.

    Raises:
        PlanError: no such room, or the serial stands on another line.
    """
    site_id = needed_site(session).id
    _refuse_unfit(session, site_id, line)
    row = session.get(UnitRow, (site_id, line.label))
    if row is None:
        last = session.scalar(select(func.max(UnitRow.position)).where(UnitRow.site_id == site_id))
        add_line(session, site_id, line, 0 if last is None else last + 1, now)
    else:
        row.serial, row.room = line.serial or None, line.room
        row.module_type, row.hardware_revision = line.module_type.value, line.hardware_revision
        row.x_mm, row.y_mm = line.pose.x_mm, line.pose.y_mm
        row.heading_mdeg, row.upside_down = line.pose.heading_mdeg, line.pose.upside_down
        row.height_mm, row.changed_at = line.pose.height_mm, now
        session.flush()
        for table in (UnitSettingRow, UnitAreaRow):
            here = (table.site_id == site_id, table.label == line.label)
            session.execute(delete(table).where(*here))
        _add_planned(session, site_id, line)
    if line.serial:
        _tell_serial(session, site_id, line)


def put_planned_item(
    session: Session,
    serial: str,
    key: str,
    value: Value | None,
    *,
    why: str,
    by: str,
    now: datetime,
) -> None:
    """Keep a person's decision about one planned item; the one before it is in the journal."""
    site_id = needed_site(session).id
    session.merge(
        PlannedItemRow(site_id=site_id, serial=serial, key=key, value=value, why=why, by=by, at=now)
    )


def planned_items(session: Session) -> Mapping[str, Mapping[str, Value | None]]:
    """Return serial → item → value that a person decided; None takes the item away."""
    rows = session.execute(
        select(PlannedItemRow.serial, PlannedItemRow.key, PlannedItemRow.value)
        .where(PlannedItemRow.site_id == needed_site(session).id)
        .order_by(PlannedItemRow.serial, PlannedItemRow.key)
    )
    decided: dict[str, dict[str, Value | None]] = {}
    for serial, key, value in rows:
        decided.setdefault(serial, {})[key] = value
    return decided


def _add_planned(session: Session, site_id: int, line: PlannedUnit) -> None:
    key = {"site_id": site_id, "label": line.label}
    settings = [
        {**key, "position": position, "key": name, "value": value}
        for position, (name, value) in enumerate(line.settings.items())
    ]
    areas = [
        {**key, "position": position, "key": area.key, "name": area.label}
        | {"kind": area.kind.value, "outline_mm": area.outline_mm}
        for position, area in enumerate(line.areas)
    ]
    if settings:
        session.execute(insert(UnitSettingRow), settings)
    if areas:
        session.execute(insert(UnitAreaRow), areas)


def _refuse_unfit(session: Session, site_id: int, line: PlannedUnit) -> None:
    if session.get(RoomRow, (site_id, line.room)) is None:
        raise PlanError(
            f"there is no room {line.room!r}.",
            subject=line.label,
            stands="The schedule stays as it was.",
            next_step="Choose a room of the plan.",
        )
    others = select(UnitRow.label).where(
        UnitRow.site_id == site_id, UnitRow.serial == line.serial, UnitRow.label != line.label
    )
    other = session.scalar(others) if line.serial else None
    if other is not None:
        raise PlanError(
            f"the serial {line.serial} stands on {other} already.",
            subject=line.label,
            stands="The schedule stays as it was.",
            next_step=f"Take the serial off {other} first.",
        )


def _tell_serial(session: Session, site_id: int, line: PlannedUnit) -> None:
    """What was left under a label alone belongs to the first serial that the label is given.

    Not so where sheets of that serial are known: then another unit had the label at that time.
    """
    left = (SheetRow.site_id == site_id, SheetRow.kind == AS_LEFT)
    known = select(SheetRow.id).where(*left, SheetRow.serial == line.serial).limit(1)
    if session.scalar(known) is None:
        nameless = (SheetRow.label == line.label, SheetRow.serial.is_(None))
        session.execute(update(SheetRow).where(*left, *nameless).values(serial=line.serial))

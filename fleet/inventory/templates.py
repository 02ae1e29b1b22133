"""A site's room templates, and what a person decided about single items, with who and why."""

from collections.abc import Mapping
from datetime import datetime

import msgspec
from sqlalchemy import select
from sqlalchemy.orm import Session

from fleet.inventory.belief_tables import PlannedItemRow
from fleet.inventory.sites import needed_site
from fleet.inventory.tables import RoomRow
from fleet.inventory.template_tables import RoomTemplateRow
from fleet.model.errors import PlanError
from fleet.model.templates import Decision, KeptTemplate, Level, Template

_ORDER = tuple(Level)


def put_template(session: Session, kept: KeptTemplate) -> None:
    """Keep a template; it replaces the one of its level and subject, which stays in the journal.

    Raises:
        PlanError: there is no site, or not the room that it is meant for.
    """
    site_id, template = needed_site(session).id, kept.template
    if template.level is Level.ROOM:
        _refuse_unknown_room(session, site_id, template.subject)
    session.merge(
        RoomTemplateRow(
            site_id=site_id,
            level=template.level.value,
            subject=template.subject,
            document=msgspec.to_builtins(template),
            by=kept.by,
            at=kept.at,
            why=kept.why,
        )
    )


def drop_template(session: Session, level: Level, subject: str) -> Template:
    """Take a template away; return it.

    Raises:
        PlanError: there is none.
    """
    key = (needed_site(session).id, level.value, subject)
    row = session.get(RoomTemplateRow, key)
    if row is None:
        raise PlanError(
            "there is no such template.",
            subject=f"{level} {subject}".strip(),
            stands="Nothing was changed.",
            next_step="See which there are: walkdown template list.",
        )
    session.delete(row)
    return msgspec.convert(row.document, Template)


def all_templates(session: Session) -> tuple[KeptTemplate, ...]:
    """Return the site's templates, the farthest level first.

    Raises:
        ValueError: the table holds what is no template.
    """
    rows = session.scalars(
        select(RoomTemplateRow)
        .where(RoomTemplateRow.site_id == needed_site(session).id)
        .order_by(RoomTemplateRow.subject)
    )
    kept = [
        KeptTemplate(msgspec.convert(row.document, Template), row.by, row.at, row.why)
        for row in rows
    ]
    return tuple(sorted(kept, key=lambda one: _ORDER.index(one.template.level)))


def all_decisions(session: Session) -> Mapping[str, Mapping[str, Decision]]:
    """Return serial → item → what a person decided that is planned, with who and why."""
    rows = session.scalars(
        select(PlannedItemRow)
        .where(PlannedItemRow.site_id == needed_site(session).id)
        .order_by(PlannedItemRow.serial, PlannedItemRow.key)
    )
    decided: dict[str, dict[str, Decision]] = {}
    for row in rows:
        decided.setdefault(row.serial, {})[row.key] = Decision(row.value, row.by, row.why)
    return decided


def name_of(template: Template) -> str:
    """Return what the journal calls a template, for example "room kind bedroom"."""
    return f"{template.level} {template.subject}".strip()


def kept_now(template: Template, *, by: str, why: str, now: datetime) -> KeptTemplate:
    """Return a template as it is kept.

    Raises:
        PlanError: nobody stands for it, or no reason is given.
    """
    if not by.strip() or not why.strip():
        raise PlanError(
            "who sets it, and why, has to be said.",
            subject=name_of(template),
            stands="Nothing was changed.",
        )
    return KeptTemplate(template, by, now, why)


def _refuse_unknown_room(session: Session, site_id: int, room: str) -> None:
    if session.get(RoomRow, (site_id, room)) is None:
        rooms = session.scalars(
            select(RoomRow.key).where(RoomRow.site_id == site_id).order_by(RoomRow.position)
        )
        raise PlanError(
            f"there is no room {room!r}.",
            subject="template",
            stands="Nothing was stored.",
            next_step=f"Name one of: {', '.join(rooms)}.",
        )

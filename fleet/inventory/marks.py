"""What people did this visit: ticks and signatures; and evidence that was taken."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from fleet.inventory.belief_tables import DocumentRow, EvidenceRow, SignatureRow, TickRow
from fleet.inventory.sites import current_site_id, needed_site, of_site
from fleet.inventory.tables import RoomRow
from fleet.inventory.texts import sha256_of
from fleet.model.errors import PlanError
from fleet.model.house import Signature


@dataclass(frozen=True, slots=True)
class Tick:
    """That a person did an item of a checklist: who, when, and what they said about it."""

    by: str
    at: datetime
    said: str


def put_tick(session: Session, room: str, item: str, tick: Tick) -> None:
    """Keep a tick; a later one of the same item replaces it.

    Raises:
        PlanError: there is no such room.
    """
    site_id = _site_with(session, room)
    session.merge(
        TickRow(site_id=site_id, room=room, item=item, by=tick.by, said=tick.said, at=tick.at)
    )


def all_ticks(session: Session) -> Mapping[str, Mapping[str, Tick]]:
    """Return room → item → its tick."""
    site_id = needed_site(session).id
    ticks: dict[str, dict[str, Tick]] = {}
    for row in session.scalars(
        select(TickRow).where(TickRow.site_id == site_id).order_by(TickRow.room, TickRow.item)
    ):
        ticks.setdefault(row.room, {})[row.item] = Tick(row.by, row.at, row.said)
    return ticks


def add_signature(session: Session, room: str, signature: Signature) -> None:
    """Keep a signature of this visit; the last one of a room counts.

    Raises:
        PlanError: there is no such room.
    """
    session.add(
        SignatureRow(
            site_id=_site_with(session, room),
            room=room,
            name=signature.name,
            role=signature.role,
            signed_at=signature.signed_at,
            exceptions=signature.exceptions,
        )
    )


def all_signatures(session: Session) -> Mapping[str, Signature]:
    """Return room → its last signature of this visit."""
    rows = session.scalars(
        select(SignatureRow)
        .where(SignatureRow.site_id == needed_site(session).id, SignatureRow.visit_id.is_(None))
        .order_by(SignatureRow.id)
    )
    return {row.room: Signature(row.name, row.role, row.signed_at, row.exceptions) for row in rows}


def add_evidence(
    session: Session, kind: str, subject: str, document: Mapping[str, Any], now: datetime
) -> str:
    """Keep a document under its digest, once, and that it shows something; return the digest."""
    digest = sha256_of(document)
    if session.get(DocumentRow, digest) is None:
        session.add(DocumentRow(sha256=digest, content=document))
        session.flush()
    session.add(
        EvidenceRow(
            site_id=current_site_id(session),
            kind=kind,
            subject=subject,
            sha256=digest,
            taken_at=now,
        )
    )
    return digest


def latest_evidence(session: Session, kind: str) -> Mapping[str, Mapping[str, Any]]:
    """Return subject → the document that was taken last."""
    latest = (
        select(func.max(EvidenceRow.id))
        .where(of_site(EvidenceRow.site_id, current_site_id(session)), EvidenceRow.kind == kind)
        .group_by(EvidenceRow.subject)
    )
    rows = session.execute(
        select(EvidenceRow.subject, DocumentRow.content)
        .join(DocumentRow, DocumentRow.sha256 == EvidenceRow.sha256)
        .where(EvidenceRow.id.in_(latest))
        .order_by(EvidenceRow.subject)
    )
    return dict(rows.tuples().all())


def _site_with(session: Session, room: str) -> int:
    site_id = needed_site(session).id
    if session.get(RoomRow, (site_id, room)) is None:
        raise PlanError(
            "there is no such room.",
            subject=room,
            stands="Nothing was stored.",
            next_step="Name a room of the plan by its key.",
        )
    return site_id

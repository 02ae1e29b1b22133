"""The tables of what was seen, read, decided and done, each row with its time. Rules: `tables`."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, ForeignKeyConstraint, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleet.inventory.tables import Table


class VisitRow(Table):
    """A visit before this one."""

    __tablename__ = "visit"
    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int] = mapped_column(ForeignKey("site.id"))
    position: Mapped[int]
    left_at: Mapped[datetime]
    by: Mapped[str]


class RoomVisitRow(Table):
    """What an earlier visit showed of a room."""

    __tablename__ = "room_visit"
    __table_args__ = (ForeignKeyConstraint(["site_id", "room"], ["room.site_id", "room.key"]),)
    visit_id: Mapped[int] = mapped_column(ForeignKey("visit.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int]
    room: Mapped[str]
    shown: Mapped[Any]
    open: Mapped[Any]


class SoakNoteRow(Table):
    """A soak of an earlier visit."""

    __tablename__ = "soak_note"
    __table_args__ = (ForeignKeyConstraint(["site_id", "label"], ["unit.site_id", "unit.label"]),)
    visit_id: Mapped[int] = mapped_column(ForeignKey("visit.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int]
    label: Mapped[str]
    empty_s: Mapped[int]
    episodes: Mapped[int]


class SignatureRow(Table):
    """Acceptance of a room, of an earlier visit or (no visit) of this one; the last one counts."""

    __tablename__ = "signature"
    __table_args__ = (ForeignKeyConstraint(["site_id", "room"], ["room.site_id", "room.key"]),)
    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int]
    room: Mapped[str]
    visit_id: Mapped[int | None] = mapped_column(ForeignKey("visit.id"))
    visit_position: Mapped[int | None]
    name: Mapped[str]
    role: Mapped[str]
    signed_at: Mapped[datetime]
    exceptions: Mapped[Any]


class SheetRow(Table):
    """A sheet that was found or left, of a serial; one left earlier may know the label alone."""

    __tablename__ = "sheet"
    __table_args__ = (
        ForeignKeyConstraint(["site_id", "label"], ["unit.site_id", "unit.label"]),
        Index(None, "site_id", "kind", "serial"),
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int | None] = mapped_column(ForeignKey("site.id"))
    kind: Mapped[str]
    serial: Mapped[str | None]
    label: Mapped[str | None]
    visit_id: Mapped[int | None] = mapped_column(ForeignKey("visit.id"))
    at: Mapped[datetime]
    why: Mapped[str]


class SheetItemRow(Table):
    """One item of a sheet."""

    __tablename__ = "sheet_item"
    sheet_id: Mapped[int] = mapped_column(ForeignKey("sheet.id"), primary_key=True)
    key: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[Any]


class PlannedItemRow(Table):
    """A person's decision that overrides one planned item; a null value takes the item away."""

    __tablename__ = "planned_item"
    site_id: Mapped[int] = mapped_column(ForeignKey("site.id"), primary_key=True)
    serial: Mapped[str] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[Any]
    why: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]


class SightingRow(Table):
    """Where a unit was last heard."""

    __tablename__ = "sighting"
    __table_args__ = (UniqueConstraint("site_id", "serial"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int | None] = mapped_column(ForeignKey("site.id"))
    serial: Mapped[str]
    name: Mapped[str]
    url: Mapped[str]
    host: Mapped[str]
    heard_at: Mapped[datetime]
    service_type: Mapped[str]
    txt: Mapped[Any]


class ReadingRow(Table):
    """All that was read from a unit at one time, the sheet aside."""

    __tablename__ = "reading"
    __table_args__ = (Index(None, "site_id", "serial"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int | None] = mapped_column(ForeignKey("site.id"))
    serial: Mapped[str]
    sheet_id: Mapped[int] = mapped_column(ForeignKey("sheet.id"))
    url: Mapped[str]
    title: Mapped[str]
    read_at: Mapped[datetime]
    capabilities: Mapped[Any]
    area_revision: Mapped[int | None]
    signal_dbm: Mapped[int | None]
    other: Mapped[Any]
    missing: Mapped[Any]
    complaints: Mapped[Any]
    access: Mapped[str]


class TickRow(Table):
    """An item of a room's checklist that a person did this visit."""

    __tablename__ = "tick"
    __table_args__ = (ForeignKeyConstraint(["site_id", "room"], ["room.site_id", "room.key"]),)
    site_id: Mapped[int] = mapped_column(primary_key=True)
    room: Mapped[str] = mapped_column(primary_key=True)
    item: Mapped[str] = mapped_column(primary_key=True)
    by: Mapped[str]
    said: Mapped[str]
    at: Mapped[datetime]


class DocumentRow(Table):
    """A document of evidence, kept once under the digest of its canonical form."""

    __tablename__ = "document"
    sha256: Mapped[str] = mapped_column(primary_key=True)
    content: Mapped[Any]


class EvidenceRow(Table):
    """That a document shows something of a subject, and since when."""

    __tablename__ = "evidence"
    __table_args__ = (Index(None, "site_id", "kind", "subject"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    site_id: Mapped[int | None] = mapped_column(ForeignKey("site.id"))
    kind: Mapped[str]
    subject: Mapped[str]
    sha256: Mapped[str] = mapped_column(ForeignKey("document.sha256"))
    taken_at: Mapped[datetime]


class JournalTableRow(Table):
    """One row of the hash-chained account; nothing changes or deletes one."""

    __tablename__ = "journal"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    what: Mapped[str]
    subject: Mapped[str]
    detail: Mapped[Any]
    previous_sha256: Mapped[str]
    sha256: Mapped[str]


class StepRow(Table):
    """A write to a unit: its intent, and its outcome once that was read back."""

    __tablename__ = "step"
    __table_args__ = (Index(None, "site_id", "settled_at"),)
    key: Mapped[str] = mapped_column(primary_key=True)
    site_id: Mapped[int | None] = mapped_column(ForeignKey("site.id"))
    intent: Mapped[int] = mapped_column(ForeignKey("journal.number"), unique=True)
    serial: Mapped[str]
    label: Mapped[str]
    url: Mapped[str]
    part: Mapped[str]
    items: Mapped[Any]
    before: Mapped[Any]
    intended_at: Mapped[datetime]
    state: Mapped[str]
    said: Mapped[str]
    settled_at: Mapped[datetime | None]

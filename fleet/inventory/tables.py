"""The tables of the plan: a site, its floors, rooms and schedule, what is approved for it.

Rules of all tables, here and in `belief_tables`:

1. Everything hangs on a site, by foreign keys that are enforced. What is known of a unit by its serial
   alone may come before the first site; its `site_id` is empty then, and the first site takes it over.
2. Keys are the plan's own (site and label, site and room key); `position` keeps the plan's order.
3. A geometry, a list of words or a value of a sheet is JSON text, so that no database's own types are
   needed. Times are RFC 3339 text in UTC.
4. The database's form changes by migrations alone; a test holds the tables against the last one.
"""

from datetime import datetime
from typing import Any, ClassVar

from sqlalchemy import ForeignKey, ForeignKeyConstraint, MetaData, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from fleet.inventory.columns import Json, Moment, Words


class Table(DeclarativeBase):
    """What all tables share: how Python's types become columns, and how constraints are named."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map: ClassVar[dict[Any, Any]] = {str: Words, datetime: Moment, Any: Json}


class SiteRow(Table):
    """One property; the one with the highest `chosen_order` is the current one."""

    __tablename__ = "site"
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    address: Mapped[str]
    demo: Mapped[bool]
    note: Mapped[str]
    plan_format: Mapped[str]
    added_at: Mapped[datetime]
    chosen_order: Mapped[int]


class FloorRow(Table):
    """A level of a site."""

    __tablename__ = "floor"
    site_id: Mapped[int] = mapped_column(ForeignKey("site.id"), primary_key=True)
    key: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    name: Mapped[str]
    level: Mapped[int]


class RoomRow(Table):
    """A space with its outline, doors and marks in plan mm."""

    __tablename__ = "room"
    __table_args__ = (ForeignKeyConstraint(["site_id", "floor"], ["floor.site_id", "floor.key"]),)
    site_id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    floor: Mapped[str]
    name: Mapped[str]
    kind: Mapped[str]
    outline_mm: Mapped[Any]
    doors: Mapped[Any]
    marks: Mapped[Any]


class UnitRow(Table):
    """A line of the unit schedule; `serial` is null while none is allotted."""

    __tablename__ = "unit"
    __table_args__ = (
        ForeignKeyConstraint(["site_id", "room"], ["room.site_id", "room.key"]),
        UniqueConstraint("site_id", "serial"),
    )
    site_id: Mapped[int] = mapped_column(primary_key=True)
    label: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    serial: Mapped[str | None]
    room: Mapped[str]
    module_type: Mapped[str]
    hardware_revision: Mapped[str]
    x_mm: Mapped[int]
    y_mm: Mapped[int]
    heading_mdeg: Mapped[int]
    upside_down: Mapped[bool]
    height_mm: Mapped[int]
    changed_at: Mapped[datetime]


class UnitSettingRow(Table):
    """A planned setting of a schedule line."""

    __tablename__ = "unit_setting"
    __table_args__ = (ForeignKeyConstraint(["site_id", "label"], ["unit.site_id", "unit.label"]),)
    site_id: Mapped[int] = mapped_column(primary_key=True)
    label: Mapped[str] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int]
    value: Mapped[Any]


class UnitAreaRow(Table):
    """A planned area of a schedule line, its outline in plan mm."""

    __tablename__ = "unit_area"
    __table_args__ = (ForeignKeyConstraint(["site_id", "label"], ["unit.site_id", "unit.label"]),)
    site_id: Mapped[int] = mapped_column(primary_key=True)
    label: Mapped[str] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str]
    name: Mapped[str]
    kind: Mapped[str]
    outline_mm: Mapped[Any]


class ApprovedBuildRow(Table):
    """The build that units of one hardware revision and module type should run."""

    __tablename__ = "approved_build"
    site_id: Mapped[int] = mapped_column(ForeignKey("site.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    hardware_revision: Mapped[str]
    module_type: Mapped[str]
    version: Mapped[str]
    build_id: Mapped[str]
    sequence: Mapped[int]
    image_digest: Mapped[str]
    earlier: Mapped[Any]


class BuildMatchRow(Table):
    """What is known of a build on a hardware revision with a module of some firmware."""

    __tablename__ = "build_match"
    site_id: Mapped[int] = mapped_column(ForeignKey("site.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    hardware_revision: Mapped[str]
    module_type: Mapped[str]
    module_firmware: Mapped[str]
    version: Mapped[str]
    word: Mapped[str]

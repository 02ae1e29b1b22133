"""The tables of firmware campaigns: an image on its way through a site's units. Rules: `tables`."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleet.inventory.tables import Table


class CampaignRow(Table):
    """A campaign; `image` and `terms` are what it began with and never change."""

    __tablename__ = "campaign"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    site_id: Mapped[int] = mapped_column(ForeignKey("site.id"))
    image: Mapped[Any]
    terms: Mapped[Any]
    by: Mapped[str]
    begun_at: Mapped[datetime]
    state: Mapped[str]
    said: Mapped[str]


class UnitUpdateRow(Table):
    """A unit of a campaign; `stage` and `as_found` stand before anything is sent to it."""

    __tablename__ = "unit_update"
    __table_args__ = (UniqueConstraint("campaign", "serial"),)
    campaign: Mapped[int] = mapped_column(ForeignKey("campaign.number"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    serial: Mapped[str]
    label: Mapped[str]
    room: Mapped[str]
    key: Mapped[str]
    wave: Mapped[str]
    state: Mapped[str]
    stage: Mapped[str]
    said: Mapped[str]
    as_found: Mapped[Any]
    took_s: Mapped[int | None]
    accepted: Mapped[bool]
    changed_at: Mapped[datetime]

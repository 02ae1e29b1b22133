"""The tables of how units are reached: certificates that were trusted, brokers. Rules: `tables`."""

from datetime import datetime

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from fleet.inventory.tables import Table


class CertificatePinRow(Table):
    """A certificate that was trusted on first use; it holds for a unit, whatever the site."""

    __tablename__ = "certificate_pin"
    key: Mapped[str] = mapped_column(primary_key=True)
    sha256: Mapped[str]
    first_seen_at: Mapped[datetime]


class BrokerRow(Table):
    """An MQTT broker of a site that a person named; no other is ever connected to."""

    __tablename__ = "broker"
    site_id: Mapped[int] = mapped_column(ForeignKey("site.id"), primary_key=True)
    url: Mapped[str] = mapped_column(primary_key=True)
    added_at: Mapped[datetime]

"""How units are reached: certificates that were trusted on first use, and the brokers of a site."""

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleet.inventory.access_tables import BrokerRow, CertificatePinRow
from fleet.inventory.sites import current_site_id, needed_site
from fleet.model.meeting import Pin


def pin_of(session: Session, key: str) -> Pin | None:
    """Return the certificate that is trusted under a key, or None."""
    row = session.get(CertificatePinRow, key)
    return Pin(row.key, row.sha256, row.first_seen_at) if row else None


def put_pin(session: Session, pin: Pin) -> None:
    """Trust a certificate from now on."""
    session.merge(
        CertificatePinRow(key=pin.key, sha256=pin.sha256, first_seen_at=pin.first_seen_at)
    )


def drop_pin(session: Session, key: str) -> None:
    """Trust none under a key any more."""
    row = session.get(CertificatePinRow, key)
    if row is not None:
        session.delete(row)


def put_broker(session: Session, url: str, now: datetime) -> None:
    """Keep a broker of the current site.

    Raises:
        PlanError: there is no site yet.
    """
    session.merge(BrokerRow(site_id=needed_site(session).id, url=url, added_at=now))


def broker_urls(session: Session) -> tuple[str, ...]:
    """Return the brokers of the current site."""
    rows = select(BrokerRow.url).where(BrokerRow.site_id == current_site_id(session))
    return tuple(session.scalars(rows.order_by(BrokerRow.url)))

"""Which site is meant: the one chosen last."""

from sqlalchemy import ColumnElement, func, select, update
from sqlalchemy.orm import InstrumentedAttribute, Session

from fleet.inventory.belief_tables import EvidenceRow, ReadingRow, SheetRow, SightingRow, StepRow
from fleet.inventory.tables import SiteRow
from fleet.model.errors import PlanError


def current_site(session: Session) -> SiteRow | None:
    """Return the site chosen last; None where there is no site yet."""
    return session.scalars(
        select(SiteRow).order_by(SiteRow.chosen_order.desc()).limit(1)
    ).one_or_none()


def current_site_id(session: Session) -> int | None:
    """Return the id of the site chosen last; None where there is no site yet."""
    site = current_site(session)
    return site.id if site else None


def needed_site(session: Session) -> SiteRow:
    """Return the site chosen last.

    Raises:
        PlanError: there is no site yet.
    """
    site = current_site(session)
    if site is None:
        raise PlanError(
            "there is no site yet.",
            stands="Nothing was stored.",
            next_step="Start one from a plan file: walkdown site add PLAN.",
        )
    return site


def of_site(column: InstrumentedAttribute[int | None], site_id: int | None) -> ColumnElement[bool]:
    """Return the condition that a row belongs to a site, or to none yet."""
    return column.is_(None) if site_id is None else column == site_id


def site_names(session: Session) -> tuple[str, ...]:
    """Return the names of all sites, in the order they were added."""
    return tuple(session.scalars(select(SiteRow.name).order_by(SiteRow.id)))


def mark_chosen(session: Session, name: str) -> None:
    """Make a site the current one.

    Raises:
        PlanError: there is no site of that name.
    """
    last = session.scalar(select(func.max(SiteRow.chosen_order))) or 0
    site = session.scalars(select(SiteRow).where(SiteRow.name == name)).one_or_none()
    if site is None:
        raise PlanError(
            "there is no site of that name.",
            subject=name,
            stands="The current site stays.",
            next_step=f"Choose one of: {', '.join(site_names(session)) or 'none is there'}.",
        )
    site.chosen_order = last + 1


def take_over_strays(session: Session, site_id: int) -> None:
    """Give a site what was heard and read before there was any site."""
    for table in (SheetRow, ReadingRow, SightingRow, EvidenceRow, StepRow):
        session.execute(update(table).where(table.site_id.is_(None)).values(site_id=site_id))

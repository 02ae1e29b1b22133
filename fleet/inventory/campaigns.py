"""Campaigns as the inventory keeps them: each step on the disk, and in the journal, before the next.

The rows of the journal: `campaign-begun`, `campaign-stands` (running, paused, at a gate, stopped, done,
with who and why), `campaign-accepted`, `update-begun` (with the sheet as found, before a byte goes out),
`update-stage` and `update-ended`.
"""

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from typing import Any

import msgspec
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from fleet.inventory.campaign_tables import CampaignRow, UnitUpdateRow
from fleet.inventory.sites import current_site_id, needed_site
from fleet.inventory.texts import sha256_of
from fleet.model.clock import Clock
from fleet.model.errors import PlanError
from fleet.model.firmware import (
    Campaign,
    CampaignState,
    CampaignTerms,
    Image,
    UnitUpdate,
    UpdateStage,
    UpdateState,
    Wave,
)
from fleet.model.sheets import Sheet

Transaction = Callable[[], AbstractContextManager[Session]]
Account = Callable[[Session, str, str, Mapping[str, Any]], object]


class Campaigns:
    """The campaigns of an open inventory's current site; each writing method is one transaction."""

    def __init__(
        self, reading: Transaction, writing: Transaction, account: Account, clock: Clock
    ) -> None:
        """Work in an inventory's transactions; `Inventory.campaigns` is the usual way here."""
        self._reading, self._writing = reading, writing
        self._account, self._clock = account, clock

    def begin(
        self, image: Image, terms: CampaignTerms, updates: tuple[UnitUpdate, ...], *, by: str
    ) -> Campaign:
        """Keep a new campaign, in which nothing was sent yet.

        Raises:
            PlanError: there is no site, or another campaign of it has no end.
        """
        with self._writing() as session:
            site_id = needed_site(session).id
            _refuse_second(session, site_id)
            number = (session.scalar(select(func.max(CampaignRow.number))) or 0) + 1
            now = self._clock.now()
            state = CampaignState.PAUSED.value
            row = CampaignRow(
                number=number, site_id=site_id, by=by, begun_at=now, state=state, said=""
            )
            row.image, row.terms = msgspec.to_builtins(image), msgspec.to_builtins(terms)
            session.add(row)
            session.flush()
            for position, update in enumerate(updates):
                added = UnitUpdateRow(
                    campaign=number, position=position, as_found={}, changed_at=now
                )
                _put(added, update)
                session.add(added)
            detail: dict[str, Any] = {
                "image_sha256": image.sha256,
                "version": image.version,
                "by": by,
            }
            detail |= {"terms": row.terms, "units": [update.serial for update in updates]}
            self._account(session, "campaign-begun", str(number), detail)
        return Campaign(number, image, CampaignState.PAUSED, updates, by, "", terms)

    def save_state(
        self, number: int, state: CampaignState, said: str, *, by: str = "", why: str = ""
    ) -> None:
        """Keep how a campaign stands."""
        with self._writing() as session:
            row = _campaign_row(session, number)
            row.state, row.said = state.value, said
            detail = {"state": state.value, "said": said, "by": by, "why": why}
            self._account(session, "campaign-stands", str(number), detail)

    def save_update(self, number: int, update: UnitUpdate, as_found: Sheet | None = None) -> None:
        """Keep how a unit of a campaign stands, with its sheet as found where that is new."""
        with self._writing() as session:
            row = _update_row(session, number, update.serial)
            row.changed_at = self._clock.now()
            _put(row, update)
            detail: dict[str, Any] = {"campaign": number, "stage": update.stage.value}
            detail |= {"state": update.state.value, "said": update.said}
            if as_found is not None:
                row.as_found = dict(as_found)
                detail["as_found"] = dict(as_found)
                detail["as_found_sha256"] = sha256_of(as_found)
            self._account(session, _what(update, as_found), update.serial, detail)

    def accept(self, number: int, *, by: str, why: str) -> None:
        """Keep that a person goes on in spite of the failures so far."""
        with self._writing() as session:
            rows = session.scalars(
                select(UnitUpdateRow).where(
                    UnitUpdateRow.campaign == number, UnitUpdateRow.state.in_(_ACCEPTABLE)
                )
            ).all()
            for row in rows:
                row.accepted = True
            detail = {"units": [row.serial for row in rows], "by": by, "why": why}
            self._account(session, "campaign-accepted", str(number), detail)

    def one(self, number: int | None = None) -> Campaign | None:
        """Return a campaign of the current site by its number, the last one without; None for none."""
        with self._reading() as session:
            rows = select(CampaignRow).where(CampaignRow.site_id == current_site_id(session))
            if number is not None:
                rows = rows.where(CampaignRow.number == number)
            row = session.scalars(rows.order_by(CampaignRow.number.desc()).limit(1)).one_or_none()
            return _campaign_of(session, row) if row else None

    def as_found(self, number: int, serial: str) -> Sheet:
        """Return a unit's sheet before its update; empty where it wasn't begun."""
        with self._reading() as session:
            return dict(_update_row(session, number, serial).as_found)


_ACCEPTABLE = (
    UpdateState.OLD_BUILD.value,
    UpdateState.NOT_RECOVERED.value,
    UpdateState.REFUSED.value,
)
_OPEN = (CampaignState.RUNNING, CampaignState.PAUSED, CampaignState.AT_GATE)


def _what(update: UnitUpdate, as_found: Sheet | None) -> str:
    if as_found is not None:
        return "update-begun"
    return "update-stage" if update.state is UpdateState.RUNNING else "update-ended"


def _refuse_second(session: Session, site_id: int) -> None:
    states = [state.value for state in _OPEN]
    rows = select(CampaignRow.number).where(CampaignRow.site_id == site_id)
    number = session.scalar(rows.where(CampaignRow.state.in_(states)).limit(1))
    if number is not None:
        raise PlanError(
            f"campaign {number} has no end yet.",
            stands="Nothing was sent.",
            next_step="Bring it to an end first: walkdown campaign resume, or walkdown campaign stop.",
        )


def _campaign_row(session: Session, number: int) -> CampaignRow:
    row = session.get(CampaignRow, number)
    if row is None:
        raise PlanError(f"there is no campaign {number}.", next_step="walkdown campaign status")
    return row


def _update_row(session: Session, number: int, serial: str) -> UnitUpdateRow:
    row = session.scalars(
        select(UnitUpdateRow).where(
            UnitUpdateRow.campaign == number, UnitUpdateRow.serial == serial
        )
    ).one_or_none()
    if row is None:
        raise PlanError(f"it is no unit of campaign {number}.", subject=serial)
    return row


def _put(row: UnitUpdateRow, update: UnitUpdate) -> None:
    row.serial, row.label, row.room = update.serial, update.label, update.room
    row.key, row.wave = update.key, update.wave.value
    row.state, row.stage, row.said = update.state.value, update.stage.value, update.said
    row.took_s, row.accepted = update.took_s, update.accepted


def _update_of(row: UnitUpdateRow) -> UnitUpdate:
    return UnitUpdate(
        serial=row.serial,
        label=row.label,
        key=row.key,
        wave=Wave(row.wave),
        state=UpdateState(row.state),
        said=row.said,
        room=row.room,
        stage=UpdateStage(row.stage),
        took_s=row.took_s,
        accepted=row.accepted,
    )


def _campaign_of(session: Session, row: CampaignRow) -> Campaign:
    updates = session.scalars(
        select(UnitUpdateRow)
        .where(UnitUpdateRow.campaign == row.number)
        .order_by(UnitUpdateRow.position)
    )
    return Campaign(
        number=row.number,
        image=msgspec.convert(row.image, Image),
        state=CampaignState(row.state),
        updates=tuple(_update_of(update) for update in updates),
        by=row.by,
        said=row.said,
        terms=msgspec.convert(row.terms, CampaignTerms),
    )

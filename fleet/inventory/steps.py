"""Steps of an apply: the intent before anything goes out, the outcome after the read-back.

A step without an outcome is in doubt, whatever became of the program; only reading the unit settles it.
"""

from datetime import datetime

import msgspec
from sqlalchemy import select
from sqlalchemy.orm import Session

from fleet.inventory.belief_tables import StepRow
from fleet.inventory.journal import append_row
from fleet.inventory.sites import current_site_id, of_site
from fleet.model.errors import InventoryError
from fleet.model.journal import OpenStep, StepState, WriteStep


def add_intent(session: Session, step: WriteStep, now: datetime) -> str:
    """Keep what is about to be written; return the key to conclude it with."""
    parts = msgspec.to_builtins(step)
    row = append_row(session, now, "step-intended", step.serial, parts)
    key = f"step-{row.number}"
    session.add(
        StepRow(
            key=key,
            site_id=current_site_id(session),
            intent=row.number,
            intended_at=now,
            state=StepState.IN_DOUBT.value,
            said="",
            **parts,
        )
    )
    return key


def add_outcome(session: Session, key: str, state: StepState, said: str, now: datetime) -> None:
    """Keep what a read-back showed of a step; one that stays in doubt stays open.

    Raises:
        InventoryError: there is no such step, or its outcome is known already.
    """
    row = session.get(StepRow, key)
    if row is None or row.settled_at is not None:
        raise InventoryError(
            "there is no such step." if row is None else f"its outcome is known: {row.state}.",
            subject=key,
            stands="The journal stays as it was.",
            next_step="Conclude open steps only.",
        )
    row.state, row.said = state.value, said
    row.settled_at = None if state is StepState.IN_DOUBT else now
    detail = {"step": key, "intent": row.intent, "state": state.value, "said": said}
    append_row(session, now, "step-concluded", row.serial, detail)


def steps_in_doubt(session: Session) -> tuple[OpenStep, ...]:
    """Return the steps whose outcome isn't known, oldest first."""
    rows = session.scalars(
        select(StepRow)
        .where(of_site(StepRow.site_id, current_site_id(session)), StepRow.settled_at.is_(None))
        .order_by(StepRow.intent)
    )
    return tuple(
        OpenStep(row.key, _step_of(row), row.intended_at, StepState(row.state), row.said)
        for row in rows
    )


def _step_of(row: StepRow) -> WriteStep:
    return WriteStep(row.serial, row.label, row.url, row.part, row.items, row.before)

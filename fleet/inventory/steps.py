"""Steps of an apply: the intent before anything goes out, the outcome after the read-back.

1. A step without an outcome is in doubt, whatever became of the program; only reading the unit settles it.
2. A step of which some items stand and some don't is settled, since all of it is known, and unfinished:
   a person resumes it, rolls it back, or lets it be. A later step of the same part that left anything in
   the unit takes its place.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

import msgspec
from sqlalchemy import select
from sqlalchemy.orm import Session

from fleet.inventory.belief_tables import StepRow
from fleet.inventory.journal import append_row, rows_of
from fleet.inventory.sites import current_site_id, of_site
from fleet.model.errors import InventoryError
from fleet.model.journal import OpenStep, StepState, WriteStep

LET_BE = "step-let-be"
"""Word of the journal's row by which a person leaves an unfinished step as it is."""


def add_intent(
    session: Session, step: WriteStep, now: datetime, more: Mapping[str, Any] | None = None
) -> str:
    """Keep what is about to be written; return the key to conclude it with.

    Args:
        session: open for writing.
        step: the write.
        now: when.
        more: what else the journal says of it, for example who wants it and why.
    """
    parts = msgspec.to_builtins(step)
    row = append_row(session, now, "step-intended", step.serial, {**parts, **(more or {})})
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


def add_outcome(
    session: Session,
    key: str,
    state: StepState,
    said: str,
    now: datetime,
    more: Mapping[str, Any] | None = None,
) -> None:
    """Keep what a read-back showed of a step; one that stays in doubt stays open.

    Args:
        session: open for writing.
        key: the step's.
        state: how far it got.
        said: the same in words.
        now: when.
        more: what else the journal says of it, for example each item's outcome.

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
    append_row(session, now, "step-concluded", row.serial, {**detail, **(more or {})})


def steps_in_doubt(session: Session) -> tuple[OpenStep, ...]:
    """Return the steps whose outcome isn't known, oldest first."""
    rows = session.scalars(
        select(StepRow)
        .where(of_site(StepRow.site_id, current_site_id(session)), StepRow.settled_at.is_(None))
        .order_by(StepRow.intent)
    )
    return tuple(_open_step_of(row) for row in rows)


def unfinished_steps(session: Session) -> tuple[OpenStep, ...]:
    """Return the steps that are known to be partly done and wait for a person, oldest first."""
    let_be = {row.detail.get("step") for row in rows_of(session, (LET_BE,))}
    last: dict[tuple[str, str], StepRow] = {}
    for row in session.scalars(
        select(StepRow)
        .where(
            of_site(StepRow.site_id, current_site_id(session)),
            StepRow.settled_at.is_not(None),
            StepRow.state.in_((StepState.DONE.value, StepState.PARTLY.value)),
        )
        .order_by(StepRow.intent)
    ):
        last[row.serial, row.part] = row
    partly = [row for row in last.values() if row.state == StepState.PARTLY]
    waiting = [row for row in partly if row.key not in let_be]
    return tuple(_open_step_of(row) for row in sorted(waiting, key=lambda row: row.intent))


def _open_step_of(row: StepRow) -> OpenStep:
    return OpenStep(row.key, _step_of(row), row.intended_at, StepState(row.state), row.said)


def _step_of(row: StepRow) -> WriteStep:
    return WriteStep(row.serial, row.label, row.url, row.part, row.items, row.before)

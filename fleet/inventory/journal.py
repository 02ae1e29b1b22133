"""The append-only account: each row carries the hash of the row before.

A row's hash is the SHA-256 of the canonical JSON of
`{"at", "detail", "number", "previous", "subject", "what"}`, so a row that was changed, taken out or put in
is found. Rows cut off at the end aren't: whoever needs that keeps the last hash elsewhere (a hand-over
record does).
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleet.inventory.belief_tables import JournalTableRow
from fleet.inventory.texts import sha256_of, storable, to_moment_text
from fleet.model.journal import JournalRow


def append_row(
    session: Session, at: datetime, what: str, subject: str, detail: Mapping[str, Any]
) -> JournalRow:
    """Add a row to the end of the chain, in the transaction of what it accounts for."""
    last = session.execute(
        select(JournalTableRow.number, JournalTableRow.sha256)
        .order_by(JournalTableRow.number.desc())
        .limit(1)
    ).one_or_none()
    number, previous = (last.number + 1, last.sha256) if last else (1, "")
    row = JournalTableRow(
        number=number,
        at=at,
        what=storable(what),
        subject=storable(subject),
        detail=detail,
        previous_sha256=previous,
        sha256=row_hash(number, at, what, subject, detail, previous),
    )
    session.add(row)
    session.flush()
    return _as_row(row)


def row_hash(
    number: int, at: datetime, what: str, subject: str, detail: Mapping[str, Any], previous: str
) -> str:
    """Return the hash of a row, hex."""
    return sha256_of(
        {
            "number": number,
            "at": to_moment_text(at),
            "what": what,
            "subject": subject,
            "detail": detail,
            "previous": previous,
        }
    )


def all_rows(session: Session) -> tuple[JournalRow, ...]:
    """Return the whole account, oldest first."""
    rows = session.scalars(select(JournalTableRow).order_by(JournalTableRow.number))
    return tuple(_as_row(row) for row in rows)


def rows_of(session: Session, what: Iterable[str]) -> tuple[JournalRow, ...]:
    """Return the rows of some kinds, oldest first."""
    kinds = JournalTableRow.what.in_(tuple(what))
    rows = session.scalars(select(JournalTableRow).where(kinds).order_by(JournalTableRow.number))
    return tuple(_as_row(row) for row in rows)


def first_broken(rows: Iterable[JournalRow]) -> int | None:
    """Return the number of the first row that doesn't follow from the one before; None if all do."""
    previous, expected = "", 1
    for row in rows:
        own = row_hash(row.number, row.at, row.what, row.subject, row.detail, previous)
        if (row.number, row.previous_sha256, row.sha256) != (expected, previous, own):
            return row.number
        previous, expected = own, expected + 1
    return None


def _as_row(row: JournalTableRow) -> JournalRow:
    return JournalRow(
        number=row.number,
        at=row.at,
        what=row.what,
        subject=row.subject,
        detail=row.detail,
        previous_sha256=row.previous_sha256,
        sha256=row.sha256,
    )

"""The append-only account: each row carries the hash of the row before.

A row's hash is the SHA-256 of the canonical JSON of
`{"at", "detail", "number", "previous", "subject", "what"}`, so a row that was changed, taken out or put in
is found. Rows cut off at the end are found as far as something else tells of them: what the tables hold
and no row accounts for, or the last hash kept elsewhere (a hand-over record keeps it).

The hashed text of each row is what a stranger gets: a line of canonical JSON (sorted keys, no spaces, NFC,
UTF-8; RFC 8785 for all but odd fractions), whose SHA-256 stands as "previous" in the next one.
"""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from fleet.inventory.belief_tables import EvidenceRow, JournalTableRow, ReadingRow, StepRow
from fleet.inventory.tables import Table
from fleet.inventory.texts import canonical, storable, to_moment_text
from fleet.model.journal import JournalRow

_ACCOUNTED: Mapping[str, tuple[type[Table], str]] = {
    "read": (ReadingRow, "readings"),
    "step-intended": (StepRow, "steps"),
    "evidence-kept": (EvidenceRow, "pieces of evidence"),
}
"""Word of a row → what it accounts for, of which nothing is ever deleted."""


@dataclass(frozen=True, slots=True)
class Break:
    """Where the chain breaks: the first row that doesn't follow, and in what way."""

    number: int
    why: str


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
    row = JournalRow(number, at, what, subject, detail, previous)
    return hashlib.sha256(hashed_line(row)).hexdigest()


def hashed_line(row: JournalRow) -> bytes:
    """Return the text of a row that its hash is taken over: one line of canonical JSON, without its end."""
    return canonical(
        {
            "number": row.number,
            "at": to_moment_text(row.at),
            "what": row.what,
            "subject": row.subject,
            "detail": row.detail,
            "previous": row.previous_sha256,
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
    found = first_break(rows)
    return None if found is None else found.number


def first_break(rows: Iterable[JournalRow]) -> Break | None:
    """Return where the chain breaks first, and how; None if each row follows from the one before."""
    previous, expected = "", 1
    for row in rows:
        if row.number != expected:
            return Break(row.number, f"row {expected} is missing before it")
        if row.previous_sha256 != previous:
            return Break(row.number, "it names another row as the one before it")
        own = row_hash(row.number, row.at, row.what, row.subject, row.detail, previous)
        if row.sha256 != own:
            return Break(row.number, "its content isn't what its hash was taken over")
        previous, expected = own, expected + 1
    return None


def unaccounted(session: Session) -> tuple[str, ...]:
    """Say what the tables hold that no row accounts for: rows were cut off or taken out."""
    kinds = JournalTableRow.what
    told = select(kinds, func.count()).where(kinds.in_(tuple(_ACCOUNTED))).group_by(kinds)
    rows = dict(session.execute(told).tuples().all())
    found = []
    for what, (table, name) in _ACCOUNTED.items():
        kept = session.scalar(select(func.count()).select_from(table)) or 0
        if kept > rows.get(what, 0):
            found.append(f"{kept} {name} are kept, and {rows.get(what, 0)} are accounted for")
    return tuple(found)


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

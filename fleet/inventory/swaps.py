"""A swap of a unit or its module, as one transaction: all of it is on the disk, or nothing.

The line of the schedule changes, the decisions beside its serial are set, what lapses is kept as evidence
(nothing is deleted that was shown), and the journal's row `swapped` holds what stood before. Sheets,
readings and evidence of the old serial stay under the old serial.
"""

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import msgspec
from sqlalchemy import delete
from sqlalchemy.orm import Session

from fleet.inventory.belief_tables import PlannedItemRow
from fleet.inventory.lines import put_line, put_planned_item
from fleet.inventory.marks import add_evidence
from fleet.inventory.rebuilding import rebuilt_plan
from fleet.inventory.sites import needed_site
from fleet.inventory.templates import all_decisions
from fleet.model.clock import Clock
from fleet.model.errors import PlanError
from fleet.model.house import PlannedUnit
from fleet.model.journal import JournalRow
from fleet.model.templates import Decision

SWAPPED = "swapped"
"""Word of the journal's row."""

Transaction = Callable[[], AbstractContextManager[Session]]
Account = Callable[[Session, str, str, Mapping[str, Any]], JournalRow]


@dataclass(frozen=True, slots=True)
class Shown:
    """A piece of evidence to keep: kind, subject and document, as for `Inventory.save_evidence`."""

    kind: str
    subject: str
    document: Mapping[str, Any]


class Swaps:
    """Swaps in an open inventory's current site."""

    def __init__(self, writing: Transaction, account: Account, clock: Clock) -> None:
        """Work in an inventory's transactions; `Inventory.swaps` is the usual way here."""
        self._writing, self._account, self._clock = writing, account, clock

    def carry_out(
        self,
        before: PlannedUnit,
        line: PlannedUnit,
        decisions: Mapping[str, Decision],
        evidence: Callable[[datetime], Sequence[Shown]],
        detail: Mapping[str, Any],
        *,
        by: str,
        why: str,
    ) -> JournalRow:
        """Change a line, what is decided beside it and what counts of its evidence; return the row.

        Args:
            before, line: the line as the swap was planned on, and as it becomes.
            decisions: item → decision beside the new line; nobody's is this person's.
            evidence: told when it is, gives what is to be kept beside the swap.
            detail: what else the journal says of it.
            by, why: who did it, and the reason.

        Raises:
            PlanError: the line isn't what the swap was planned on, or its serial stands elsewhere.
        """
        with self._writing() as session:
            now = self._clock.now()
            _refuse_moved(session, before)
            had = all_decisions(session)
            put_line(session, line, now)
            _put_decisions(session, line.serial, decisions, by=by, why=why, now=now)
            kept = [self._keep(session, one, now) for one in evidence(now)]
            said = {
                "label": line.label,
                "before": msgspec.to_builtins(before),
                "line": msgspec.to_builtins(line),
                "decisions_before": msgspec.to_builtins(had.get(before.serial, {})),
                "decisions_of_the_new": msgspec.to_builtins(had.get(line.serial, {})),
                "decisions": msgspec.to_builtins(dict(decisions)),
                "evidence": kept,
            }
            words = {"by": by, "why": why}
            return self._account(session, SWAPPED, line.serial, {**detail, **said, **words})

    def _keep(self, session: Session, one: Shown, now: datetime) -> str:
        digest = add_evidence(session, one.kind, one.subject, one.document, now)
        detail = {"kind": one.kind, "sha256": digest}
        self._account(session, "evidence-kept", one.subject, detail)
        return digest


def _refuse_moved(session: Session, before: PlannedUnit) -> None:
    now = [line for line in rebuilt_plan(session).units if line.label == before.label]
    if now != [before]:
        raise PlanError(
            "its line of the schedule has changed since the swap was planned.",
            subject=before.label,
            stands="Nothing was swapped.",
            next_step="Plan the swap again, and look at it once more.",
        )


def _put_decisions(
    session: Session,
    serial: str,
    decisions: Mapping[str, Decision],
    *,
    by: str,
    why: str,
    now: datetime,
) -> None:
    """Have these decisions stand beside a serial, and no others; the journal's row holds the others."""
    mine = PlannedItemRow.site_id == needed_site(session).id, PlannedItemRow.serial == serial
    session.execute(delete(PlannedItemRow).where(*mine))
    for key, one in decisions.items():
        words = {"by": one.by or by, "why": one.why if one.by else f"{one.why}; {why}"}
        put_planned_item(session, serial, key, one.value, now=now, **words)

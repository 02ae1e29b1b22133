"""Restoring a unit to a sheet that was kept of it, by the same path as every other write.

The unit is read first, so that what differs now is what is written; afterwards it is read back whole, and
what still differs is said item by item.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from fleet.engine.apply_run import Hands, apply_changes, rehearse_changes
from fleet.engine.applying import StepResult
from fleet.engine.rehearsing import Rehearsal
from fleet.inventory.kept_sheets import AS_FOUND, KeptSheet
from fleet.inventory.sheets import AS_LEFT
from fleet.jobs.restoring import Impossible, Restoring, restore_plan
from fleet.model.clock import from_rfc3339
from fleet.model.errors import LinkError, PlanError, UnitError
from fleet.model.journal import Change

WORDS = {"as-left": AS_LEFT, "as-found": AS_FOUND}
_SHEET_ID = re.compile(r"sheet-[0-9]{1,18}")


@dataclass(frozen=True, slots=True)
class Restored:
    """What a restoring came to.

    Attributes:
        kept: the sheet that was restored.
        results: each step.
        impossible: what can't be written back, with the reason.
        left: items that could be, and still differ after the read-back; None where it couldn't be read.
    """

    kept: KeptSheet
    results: tuple[StepResult, ...]
    impossible: tuple[Impossible, ...]
    left: tuple[Change, ...] | None


@dataclass(frozen=True, slots=True)
class RestoreRehearsal:
    """What a restoring would do."""

    kept: KeptSheet
    rehearsals: tuple[Rehearsal, ...]
    impossible: tuple[Impossible, ...]


def chosen_sheet(kept: Sequence[KeptSheet], word: str) -> KeptSheet:
    """Return the sheet that a word means. Pure.

    Args:
        kept: of one unit, oldest first.
        word: "as-left" or "as-found" (the last one of either), a sheet's key, a date (what was known at
            its end, UTC) or a moment in RFC 3339.

    Raises:
        PlanError: no sheet is meant by it.
    """
    if word in WORDS:
        matching = [sheet for sheet in kept if sheet.kind == WORDS[word]]
    elif _SHEET_ID.fullmatch(word):
        matching = [sheet for sheet in kept if sheet.key == word]
    else:
        is_by = _until(word)
        matching = [sheet for sheet in kept if is_by(sheet.at)]
    if not matching:
        raise PlanError(
            "no such sheet is kept of the unit.",
            subject=word,
            stands="Nothing was written.",
            next_step="`walkdown restore UNIT --list` shows which are kept.",
        )
    return matching[-1]


async def plan_restoring(hands: Hands, serial: str, kept: KeptSheet, label: str = "") -> Restoring:
    """Read a unit; return the changes that bring it back to a kept sheet, and what can't be brought back.

    Raises:
        LinkError, UnitError: the unit can't be read.
    """
    await hands.read_again(serial)
    reading = hands.inventory.readings()[serial]
    left, _ = hands.inventory.as_left().get(serial, (None, None))
    return restore_plan(reading, kept.sheet, label=label, as_left=left, says_areas=kept.says_areas)


async def restore_unit(
    hands: Hands,
    serial: str,
    kept: KeptSheet,
    *,
    by: str,
    label: str = "",
    after_each: Callable[[StepResult], None] = lambda _: None,
) -> Restored:
    """Write back what differs from a kept sheet, and read back what stands then.

    Args:
        hands: what to work with.
        serial: which unit.
        kept: one of its sheets.
        by: who wants it.
        label: of the unit, for messages.
        after_each: told what came of each step.

    Raises:
        LinkError, UnitError: the unit can't be read; nothing was sent.
        InventoryError: the journal can't be written.
    """
    changes, impossible = await plan_restoring(hands, serial, kept, label)
    results: tuple[StepResult, ...] = ()
    if changes:
        why = f"restored to {kept.key}"
        results = await apply_changes(hands, changes, by=by, why=why, after_each=after_each)
    try:
        left = (await plan_restoring(hands, serial, kept, label))[0] if results else ()
    except (LinkError, UnitError):
        return Restored(kept, results, impossible, None)
    return Restored(kept, results, impossible, left)


async def rehearse_restoring(
    hands: Hands, serial: str, kept: KeptSheet, *, label: str = ""
) -> RestoreRehearsal:
    """Do all of a restoring but the writes.

    Raises:
        LinkError, UnitError: the unit can't be read.
    """
    changes, impossible = await plan_restoring(hands, serial, kept, label)
    return RestoreRehearsal(kept, await rehearse_changes(hands, changes), impossible)


def _until(word: str) -> Callable[[datetime], bool]:
    """Return what says of a moment whether it is within a date or before it, or at a moment or before.

    Raises:
        PlanError: the word is neither.
    """
    try:
        day = date.fromisoformat(word)
    except ValueError:
        pass
    else:
        return lambda at: at.astimezone(UTC).date() <= day
    try:
        moment = from_rfc3339(word)
    except ValueError as reason:
        raise PlanError(
            f"{word!r} is no date, no moment and no sheet.",
            stands="Nothing was written.",
            next_step="Say as-left, as-found, a key such as sheet-17, or a date such as 2026-11-25.",
        ) from reason
    return lambda at: at <= moment

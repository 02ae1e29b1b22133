"""The one way in which a value gets into a unit: plan, show, journal, write with If-Match, read back.

For each step, in this order:

1. A unit with a step in doubt is written to by nobody until that is settled.
2. The unit is read. Where an item no longer stands as it did when the step was planned, nothing is
   written: somebody else changed it. Where all stands as asked already, nothing is written either.
3. The whole new value is worked out and held against the unit's own description. A value that the unit
   takes part by part is held against each part by the link, which reads the parts, before the first goes
   out.
4. The intent goes into the journal, and is on disk, before a byte goes out.
5. The value is written, over exactly what was read where the unit takes If-Match.
6. The unit is read back, whatever the write said: an answer of 500 or none doesn't mean "not done", and
   a unit may take a moment until it says the new value. Only what is read decides, item by item.
7. What the read-back shows goes into the journal as the outcome, each item with its own. Where the unit
   can't be read, the step stays in doubt, and the next start settles it by reading.

A refusal for another's change (412) is told as that; what another wrote meanwhile is none of our doing.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from fleet.description.documents import Json
from fleet.description.origins import is_broker
from fleet.description.publications import publication
from fleet.description.requests import write_request
from fleet.engine.concluding import PAUSES_S, Journaled, Sent, StepResult, conclude
from fleet.engine.outcomes import outcome_of, stands
from fleet.engine.unit_values import PartRead, read_part, with_items
from fleet.inventory.inventory import Inventory
from fleet.link.asking import ChangedMeanwhileError
from fleet.link.assembled import PartialWriteError
from fleet.link.unit_link import UnitLink
from fleet.model.clock import to_rfc3339
from fleet.model.errors import LinkError, PlanError, UnitError, WalkdownError
from fleet.model.journal import OpenStep, StepState, WriteStep

__all__ = [
    "PAUSES_S",
    "StepResult",
    "apply_step",
    "open_step_of",
    "settle_step",
    "stands_already",
    "unsettled",
    "worked_out",
]


async def apply_step(
    inventory: Inventory,
    link: UnitLink,
    step: WriteStep,
    *,
    more: Mapping[str, Any] | None = None,
    pauses_s: Sequence[float] = PAUSES_S,
) -> StepResult:
    """Carry one step out.

    Args:
        inventory: its journal accounts for the step.
        link: the way to the unit.
        step: what to write.
        more: what else the journal says of the intent: who, why.
        pauses_s: before each try to read it back, s.

    Raises:
        InventoryError: the journal can't be written; nothing was sent, or the step stays in doubt.
    """
    doubtful = open_step_of(inventory, step.serial)
    if doubtful is not None:
        return _not_sent(step, unsettled(step, doubtful))
    try:
        current = await read_part(link, step.part)
        if stands_already(step, current):
            return _needless(step, current)
        value = worked_out(link, step, current)
    except WalkdownError as reason:
        return _not_sent(step, reason)
    key = inventory.intend(step, more)
    sent = await _send(link, current, value)
    return await conclude(inventory, link, Journaled(key, step), sent, pauses_s)


async def settle_step(inventory: Inventory, link: UnitLink, doubtful: OpenStep) -> StepResult:
    """Settle a step that was cut off, by reading what the unit holds now.

    Raises:
        InventoryError: the journal can't be written; the step stays in doubt.
    """
    journaled = Journaled(doubtful.key, doubtful.step, doubtful.said)
    return await conclude(inventory, link, journaled, Sent(), PAUSES_S[:1])


def open_step_of(inventory: Inventory, serial: str) -> OpenStep | None:
    """Return a unit's oldest step in doubt, or None."""
    mine = (one for one in inventory.open_steps() if one.step.serial == serial)
    return next(mine, None)


def unsettled(step: WriteStep, doubtful: OpenStep) -> UnitError:
    """Return the refusal to write to a unit of which a step is in doubt."""
    return UnitError(
        f"a write of its {doubtful.step.part} of {to_rfc3339(doubtful.intended_at)} is still in doubt.",
        subject=step.label,
        stands="Nothing was written.",
        next_step="Have it settled first: it is read as soon as it answers.",
    )


def stands_already(step: WriteStep, current: PartRead) -> bool:
    """Say whether all that a step asks for stands."""
    return all(stands(key, value, current.items) for key, value in step.items.items())


def worked_out(link: UnitLink, step: WriteStep, current: PartRead) -> Json:
    """Return the whole value to write, held against the unit's description; sends nothing.

    Raises:
        PlanError: the unit can't hold it.
        UnitError: somebody changed it since it was reviewed, or If-Match is wanted and no tag was given.
    """
    _refuse_moved_on(step, current)
    value = with_items(step.part, current, step.items)
    form = current.affordance.form("writeproperty")
    if form is not None and is_broker(form.url):
        publication(link.thing, current.affordance, value)
    elif not current.affordance.parts:
        write_request(link.thing, current.affordance, value, current.etag)
    return value


async def _send(link: UnitLink, current: PartRead, value: Json) -> Sent:
    try:
        await link.write(current.affordance, value, current.etag)
    except ChangedMeanwhileError as reason:
        return Sent(str(reason), refused=True, elsewhere=True)
    except PartialWriteError as reason:
        parts = {"written": reason.written, "unwritten": reason.unwritten}
        parts["doubtful"] = reason.doubtful
        return Sent(str(reason), refused=not reason.doubtful, parts=parts)
    except LinkError as reason:
        return Sent(str(reason))
    except (UnitError, PlanError) as reason:
        return Sent(str(reason), refused=True)
    return Sent()


def _refuse_moved_on(step: WriteStep, current: PartRead) -> None:
    moved = [key for key, value in step.before.items() if not stands(key, value, current.items)]
    if moved:
        raise UnitError(
            f"somebody changed {', '.join(moved)} since it was reviewed.",
            subject=step.label,
            stands="Nothing was written.",
            next_step="Review it again.",
        )


def _not_sent(step: WriteStep, reason: WalkdownError) -> StepResult:
    said = f"nothing was sent: {reason}"
    return StepResult(step.label, step.part, StepState.NOT_DONE, said)


def _needless(step: WriteStep, current: PartRead) -> StepResult:
    outcome = outcome_of(step, current.items)
    said = f"it stands already, nothing was sent: {outcome.found_in_words}"
    return StepResult(step.label, step.part, StepState.DONE, said, outcome.items)

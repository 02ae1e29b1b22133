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

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from fleet.description.documents import Json
from fleet.description.origins import is_broker
from fleet.description.publications import publication
from fleet.description.requests import write_request
from fleet.engine.outcomes import Outcome, outcome_of, stands
from fleet.engine.unit_values import PartRead, read_part, with_items
from fleet.inventory.inventory import Inventory
from fleet.link.assembled import PartialWriteError
from fleet.link.unit_link import ChangedMeanwhileError, UnitLink
from fleet.model.clock import to_rfc3339
from fleet.model.errors import LinkError, PlanError, UnitError, WalkdownError
from fleet.model.journal import ItemOutcome, OpenStep, StepState, WriteStep

PAUSES_S = (0.0, 0.25, 0.5, 1.0, 2.0)
"""Before each read-back, s: a unit that answered nothing, or 500, may still be at it for some seconds."""


@dataclass(frozen=True, slots=True)
class StepResult:
    """What a step came to.

    Attributes:
        label, part: which unit, which part of it.
        state: done, not done, partly done or in doubt.
        said: what stands now, in words.
        items: each item by itself; () where the unit wasn't read back.
        key: the step's in the journal, "" where it never got there.
    """

    label: str
    part: str
    state: StepState
    said: str
    items: tuple[ItemOutcome, ...] = ()
    key: str = ""


@dataclass(frozen=True, slots=True)
class _Sent:
    """How a write went, before it was read back.

    Attributes:
        trouble: what went wrong, "" for nothing.
        refused: the unit said no, so there is nothing to wait for.
        elsewhere: because somebody else changed it.
        parts: "written", "unwritten", "doubtful" → the unit's own names, of one that takes them one by one.
    """

    trouble: str = ""
    refused: bool = False
    elsewhere: bool = False
    parts: Mapping[str, Sequence[str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Journaled:
    """A step that was journaled, by its key; `said` is what the journal says of its doubt so far."""

    key: str
    step: WriteStep
    said: str = ""


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
    return await _conclude(inventory, link, _Journaled(key, step), sent, pauses_s)


async def settle_step(inventory: Inventory, link: UnitLink, doubtful: OpenStep) -> StepResult:
    """Settle a step that was cut off, by reading what the unit holds now.

    Raises:
        InventoryError: the journal can't be written; the step stays in doubt.
    """
    journaled = _Journaled(doubtful.key, doubtful.step, doubtful.said)
    return await _conclude(inventory, link, journaled, _Sent(), PAUSES_S[:1])


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


async def _send(link: UnitLink, current: PartRead, value: Json) -> _Sent:
    try:
        await link.write(current.affordance, value, current.etag)
    except ChangedMeanwhileError as reason:
        return _Sent(str(reason), refused=True, elsewhere=True)
    except PartialWriteError as reason:
        parts = {"written": reason.written, "unwritten": reason.unwritten}
        parts["doubtful"] = reason.doubtful
        return _Sent(str(reason), refused=not reason.doubtful, parts=parts)
    except LinkError as reason:
        return _Sent(str(reason))
    except (UnitError, PlanError) as reason:
        return _Sent(str(reason), refused=True)
    return _Sent()


async def _conclude(
    inventory: Inventory,
    link: UnitLink,
    journaled: _Journaled,
    sent: _Sent,
    pauses_s: Sequence[float],
) -> StepResult:
    step = journaled.step
    try:
        outcome = await _read_back(link, step, pauses_s[:1] if sent.refused else pauses_s)
    except WalkdownError as reason:
        outcome = Outcome(StepState.IN_DOUBT, f"in doubt, it can't be read back: {reason}")
    if sent.elsewhere and outcome.state is not StepState.DONE:
        said = f"Nothing of ours was written. It holds now: {outcome.found_in_words}."
        outcome = Outcome(StepState.NOT_DONE, said, outcome.items)
    said = outcome.said if outcome.state is StepState.DONE else f"{sent.trouble} {outcome.said}"
    said = said.strip()
    if outcome.state is not StepState.IN_DOUBT or said != journaled.said:
        inventory.conclude(journaled.key, outcome.state, said, _detail(outcome, sent))
    return StepResult(step.label, step.part, outcome.state, said, outcome.items, journaled.key)


async def _read_back(link: UnitLink, step: WriteStep, pauses_s: Sequence[float]) -> Outcome:
    """Read until all stands as asked, or the pauses are over; what was read last decides.

    Raises:
        LinkError, UnitError: the last try to read it failed.
    """
    trouble: WalkdownError | None = None
    outcome: Outcome | None = None
    for pause_s in pauses_s:
        await asyncio.sleep(pause_s)
        try:
            outcome, trouble = outcome_of(step, (await read_part(link, step.part)).items), None
        except WalkdownError as reason:
            trouble = reason
            continue
        if outcome.state is StepState.DONE:
            break
    if trouble is not None or outcome is None:
        raise trouble or UnitError("it wasn't read back.", subject=step.label)
    return outcome


def _detail(outcome: Outcome, sent: _Sent) -> dict[str, Any]:
    """Return what the journal says of an outcome beside its state: each item, and the unit's own parts."""
    items = {
        item.key: {"state": item.state.value, "asked": item.asked, "found": item.found}
        for item in outcome.items
    }
    parts = {name: list(names) for name, names in sent.parts.items()}
    return {"items": items, "parts": parts} if parts else {"items": items}


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

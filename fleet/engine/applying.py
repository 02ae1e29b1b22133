"""The one way in which a value gets into a unit: plan, show, journal, write with If-Match, read back.

For each step, in this order:

1. The unit is read. Where an item no longer stands as it did when the step was planned, nothing is
   written: somebody else changed it.
2. The whole new value is worked out and held against the unit's own description.
3. The intent goes into the journal, and is on disk, before a byte goes out.
4. The value is written, over exactly what was read where the unit takes If-Match.
5. The unit is read back, whatever the write said: an answer of 500 or none doesn't mean "not done".
6. What the read-back shows goes into the journal as the outcome. Where the unit can't be read, the step
   stays in doubt, and the next start settles it by reading.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.engine.unit_values import read_part, with_items
from fleet.inventory.inventory import Inventory
from fleet.jobs.comparing import agree
from fleet.link.unit_link import UnitLink
from fleet.model.errors import LinkError, UnitError, WalkdownError
from fleet.model.journal import OpenStep, StepState, WriteStep
from fleet.model.sheets import Sheet, Value


@dataclass(frozen=True, slots=True)
class StepResult:
    """What a step came to: which unit, which part, done or not, and what stands now in words."""

    label: str
    part: str
    state: StepState
    said: str


async def apply_step(inventory: Inventory, link: UnitLink, step: WriteStep) -> StepResult:
    """Carry one step out.

    Raises:
        InventoryError: the journal can't be written; nothing was sent.
    """
    try:
        current = await read_part(link, step.part)
        _refuse_moved_on(step, current.items)
        value = with_items(step.part, current, step.items)
    except WalkdownError as reason:
        return StepResult(step.label, step.part, StepState.NOT_DONE, f"nothing was sent: {reason}")
    key = inventory.intend(step)
    trouble = ""
    try:
        await link.write(current.affordance, value, current.etag)
    except UnitError as reason:
        trouble = str(reason)
    except LinkError as reason:
        trouble = str(reason)
    return await _conclude(inventory, link, key, step, trouble)


async def settle_step(inventory: Inventory, link: UnitLink, doubtful: OpenStep) -> StepResult:
    """Settle a step that was cut off, by reading what the unit holds now."""
    return await _conclude(inventory, link, doubtful.key, doubtful.step, "")


def outcome_of(step: WriteStep, found: Sheet) -> tuple[StepState, str]:
    """Say what a read-back shows of a step: done, not done, or some of each."""
    stands = [key for key, value in step.items.items() if _stands(key, value, found)]
    untouched = [key for key, value in step.before.items() if _stands(key, value, found)]
    if len(stands) == len(step.items):
        return StepState.DONE, f"read back: {_in_words(step.items)}"
    if len(untouched) == len(step.before):
        return StepState.NOT_DONE, f"read back as before: {_in_words(step.before)}"
    missing = sorted(step.items.keys() - set(stands))
    return StepState.NOT_DONE, f"only some of it stands; not as asked: {', '.join(missing)}"


async def _conclude(
    inventory: Inventory, link: UnitLink, key: str, step: WriteStep, trouble: str
) -> StepResult:
    try:
        found = (await read_part(link, step.part)).items
    except WalkdownError as reason:
        said = f"in doubt, it can't be read back: {reason}"
        return StepResult(step.label, step.part, StepState.IN_DOUBT, said)
    state, said = outcome_of(step, found)
    if trouble and state is not StepState.DONE:
        said = f"{trouble} {said}"
    inventory.conclude(key, state, said)
    return StepResult(step.label, step.part, state, said)


def _refuse_moved_on(step: WriteStep, found: Sheet) -> None:
    moved = [key for key, value in step.before.items() if not _stands(key, value, found)]
    if moved:
        raise UnitError(
            f"somebody changed {', '.join(moved)} since it was reviewed.",
            subject=step.label,
            stands="Nothing was written.",
            next_step="Review it again.",
        )


def _stands(key: str, value: Value | None, found: Sheet) -> bool:
    return agree(key, value, found.get(key))


def _in_words(items: Mapping[str, Value | None]) -> str:
    return ", ".join(f"{key} {'none' if value is None else value}" for key, value in items.items())

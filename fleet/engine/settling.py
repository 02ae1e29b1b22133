"""What became of steps that were cut off, and what a person does about those that are partly done.

1. At start, every step in doubt is settled by reading its unit. A unit that can't be reached stays in
   doubt and holds nothing else up: units are settled beside each other.
2. A step that is partly done is resumed (what is missing is written) or rolled back (what stands as asked,
   or as neither, is written back to what stood before), each as a step of its own by the same path, or
   let be with a reason.
3. What to write is decided by reading anew: what stands already is never written again.
"""

import asyncio
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from enum import StrEnum
from typing import Any

from fleet.engine.applying import (
    PAUSES_S,
    StepResult,
    apply_step,
    open_step_of,
    settle_step,
    unsettled,
)
from fleet.engine.outcomes import in_words, stands
from fleet.engine.unit_values import read_part
from fleet.inventory.inventory import Inventory
from fleet.inventory.steps import LET_BE
from fleet.link.unit_link import UnitLink
from fleet.model.errors import LinkError, PlanError
from fleet.model.journal import OpenStep, StepState, WriteStep
from fleet.model.sheets import Sheet

LinkTo = Callable[[str], UnitLink]
"""Serial → the way to a unit; raises LinkError for one that hasn't been met."""


class Remedy(StrEnum):
    """What a person chooses for a step that is partly done."""

    RESUME = "resume"
    ROLL_BACK = "roll back"


async def settle_all(inventory: Inventory, link_to: LinkTo) -> tuple[StepResult, ...]:
    """Settle every step in doubt whose unit can be read, oldest first; the others stay in doubt.

    Raises:
        InventoryError: the journal can't be written.
    """
    by_unit: dict[str, list[OpenStep]] = {}
    for doubtful in inventory.open_steps():
        by_unit.setdefault(doubtful.step.serial, []).append(doubtful)
    settled = await asyncio.gather(
        *(_settle_unit(inventory, link_to, steps) for steps in by_unit.values())
    )
    return tuple(result for results in settled for result in results)


async def put_right(
    inventory: Inventory,
    link: UnitLink,
    unfinished: OpenStep,
    remedy: Remedy,
    *,
    by: str,
    pauses_s: Sequence[float] = PAUSES_S,
) -> StepResult:
    """Resume a step that is partly done, or roll it back, item by item.

    Args:
        inventory: its journal accounts for it.
        link: the way to the unit.
        unfinished: one of the inventory's unfinished steps.
        remedy: what a person chose.
        by: that person.
        pauses_s: before each try to read it back, s.

    Returns:
        What came of it; where nothing is left to write, the step is let be and told as done.

    Raises:
        PlanError: nobody is named.
        LinkError, UnitError: the unit can't be read; nothing was sent.
        InventoryError: the journal can't be written.
    """
    _need_named(by, "who chose it", unfinished)
    doubtful = open_step_of(inventory, unfinished.step.serial)
    if doubtful is not None:
        raise unsettled(unfinished.step, doubtful)
    found = (await read_part(link, unfinished.step.part)).items
    step = remaining(unfinished.step, remedy, found)
    if not step.items:
        _let_be(inventory, unfinished, by, f"nothing is left to {remedy.value}")
        wanted = _wanted(unfinished.step, remedy)
        said = f"it stands already, nothing was sent: {in_words(wanted.items)}"
        return StepResult(step.label, step.part, StepState.DONE, said, key=unfinished.key)
    more = {"by": by, "why": f"{remedy.value} {unfinished.key}"}
    return await apply_step(inventory, link, step, more=more, pauses_s=pauses_s)


def let_be(inventory: Inventory, unfinished: OpenStep, *, by: str, reason: str) -> None:
    """Leave a step partly done, in a person's name.

    Raises:
        PlanError: nobody is named, or no reason given.
        InventoryError: the journal can't be written.
    """
    _need_named(by, "who chose it", unfinished)
    _need_named(reason, "a reason", unfinished)
    _let_be(inventory, unfinished, by, reason)


def remaining(step: WriteStep, remedy: Remedy, found: Sheet) -> WriteStep:
    """Return the step that writes what is missing of another, or back what stood before it. Pure.

    Args:
        step: the one that is partly done.
        remedy: which way to go.
        found: what the unit holds now.

    Returns:
        A step; one without items where all stands so already.
    """
    wanted = _wanted(step, remedy)
    items = {key: value for key, value in wanted.items.items() if not stands(key, value, found)}
    before = {key: found.get(key) for key in items}
    return replace(wanted, items=items, before=before)


def _wanted(step: WriteStep, remedy: Remedy) -> WriteStep:
    return step if remedy is Remedy.RESUME else replace(step, items=step.before)


async def _settle_unit(
    inventory: Inventory, link_to: LinkTo, steps: Sequence[OpenStep]
) -> list[StepResult]:
    results = []
    for doubtful in steps:
        step = doubtful.step
        try:
            link = link_to(step.serial)
        except LinkError as reason:
            said = f"in doubt: {reason}"
            results.append(
                StepResult(step.label, step.part, StepState.IN_DOUBT, said, key=doubtful.key)
            )
            continue
        results.append(await settle_step(inventory, link, doubtful))
    return results


def _let_be(inventory: Inventory, unfinished: OpenStep, by: str, reason: str) -> None:
    detail: Mapping[str, Any] = {"step": unfinished.key, "by": by, "why": reason}
    inventory.append(LET_BE, unfinished.step.serial, detail)


def _need_named(text: str, what: str, unfinished: OpenStep) -> None:
    if not text.strip():
        raise PlanError(
            f"{what} has to be said.",
            subject=f"{unfinished.step.label} {unfinished.key}",
            stands="Nothing was written.",
        )

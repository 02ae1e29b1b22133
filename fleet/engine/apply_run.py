"""An apply over several units and parts: steps in turn, each unit read again after, none holding up others.

1. The changes become steps, one a unit and part. Each is carried out as `applying` says.
2. A unit that hasn't been met, and a step that fails, are told in their results; the next step goes on.
3. After its last step a unit is read whole, so that what is shown is what stands.
4. The account ends with a row that names who applied and what came of it.
"""

import contextlib
from collections import Counter
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass

from fleet.engine.applying import PAUSES_S, StepResult, apply_step
from fleet.engine.rehearsing import Rehearsal, rehearse_step
from fleet.engine.settling import LinkTo
from fleet.inventory.inventory import Inventory
from fleet.jobs.changes import steps_for
from fleet.model.errors import LinkError, UnitError
from fleet.model.journal import Change, StepState, WriteStep


@dataclass(frozen=True, slots=True)
class Hands:
    """What an apply works with.

    Attributes:
        inventory: accounts for it.
        link_to: serial → the way to a unit.
        read_again: reads a unit whole and keeps the reading.
        pauses_s: before each try to read a write back, s.
    """

    inventory: Inventory
    link_to: LinkTo
    read_again: Callable[[str], Awaitable[object]]
    pauses_s: Sequence[float] = PAUSES_S


def _go_on(_step: WriteStep, _share: float) -> bool:
    """Go on with every step."""
    return True


async def apply_changes(
    hands: Hands,
    changes: Sequence[Change],
    *,
    by: str,
    why: str = "",
    before_each: Callable[[WriteStep, float], bool] = _go_on,
    after_each: Callable[[StepResult], None] = lambda _: None,
) -> tuple[StepResult, ...]:
    """Write chosen changes, unit by unit, each journaled before and read back after.

    Args:
        hands: what to work with.
        changes: chosen by a person.
        by: that person.
        why: what it is done for, for example "restored to sheet-3"; "" for the plan.
        before_each: told of each step and the share that is behind, 0 to 1; False stops before it.
        after_each: told what came of each step.

    Raises:
        PlanError: a change names a unit that was never read.
        InventoryError: the journal can't be written.
    """
    steps = steps_for(changes, hands.inventory.readings())
    more = {"by": by, "why": why} if why else {"by": by}
    results: list[StepResult] = []
    for number, step in enumerate(steps):
        if not before_each(step, number / len(steps)):
            break
        result = await _apply(hands, step, more)
        results.append(result)
        after_each(result)
        if step.serial not in {later.serial for later in steps[number + 1 :]}:
            await _read_whole(hands, step.serial)
    counts = Counter(result.state.value for result in results)
    detail = {"by": by, "steps": len(results), "states": dict(counts)}
    hands.inventory.append("applied", "", {**detail, "why": why} if why else detail)
    return tuple(results)


async def rehearse_changes(hands: Hands, changes: Sequence[Change]) -> tuple[Rehearsal, ...]:
    """Do all of an apply but the writes; nothing changes anywhere.

    Raises:
        PlanError: a change names a unit that was never read.
    """
    rehearsed: list[Rehearsal] = []
    for step in steps_for(changes, hands.inventory.readings()):
        try:
            link = hands.link_to(step.serial)
        except LinkError as reason:
            rehearsed.append(Rehearsal(step.label, step.part, could=False, said=str(reason)))
            continue
        rehearsed.append(await rehearse_step(hands.inventory, link, step))
    return tuple(rehearsed)


async def _apply(hands: Hands, step: WriteStep, more: dict[str, str]) -> StepResult:
    try:
        link = hands.link_to(step.serial)
    except LinkError as reason:
        return StepResult(step.label, step.part, StepState.NOT_DONE, f"nothing was sent: {reason}")
    return await apply_step(hands.inventory, link, step, more=more, pauses_s=hands.pauses_s)


async def _read_whole(hands: Hands, serial: str) -> None:
    """Read a unit whole; one that can't be read just now keeps its older reading, with its age."""
    with contextlib.suppress(LinkError, UnitError):
        await hands.read_again(serial)

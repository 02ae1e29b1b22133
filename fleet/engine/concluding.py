"""How a step ends: the unit is read back, and what that shows goes into the journal, item by item.

1. Whatever the write said, what is read decides. A unit that answered nothing, or 500, may still be at it,
   so it is read again for some seconds; one that refused is read once.
2. A refusal for another's change (412) is told as that, unless all stands as asked.
3. A unit that can't be read back leaves the step in doubt; that is written down once, however often it is
   tried.
"""

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from fleet.engine.outcomes import Outcome, outcome_of
from fleet.engine.unit_values import read_part
from fleet.inventory.inventory import Inventory
from fleet.link.unit_link import UnitLink
from fleet.model.errors import UnitError, WalkdownError
from fleet.model.journal import ItemOutcome, StepState, WriteStep

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
class Sent:
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
class Journaled:
    """A step that was journaled, by its key; `said` is what the journal says of its doubt so far."""

    key: str
    step: WriteStep
    said: str = ""


async def conclude(
    inventory: Inventory,
    link: UnitLink,
    journaled: Journaled,
    sent: Sent,
    pauses_s: Sequence[float],
) -> StepResult:
    """Read a unit back, and put what that shows into the journal; what can't be read stays in doubt.

    Args:
        inventory: with the journal.
        link: the way to the unit.
        journaled: the step.
        sent: how its write went.
        pauses_s: before each try to read, s; after a refusal only the first counts.

    Raises:
        InventoryError: the journal can't be written; the step stays in doubt.
    """
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


def _detail(outcome: Outcome, sent: Sent) -> dict[str, Any]:
    """Return what the journal says of an outcome beside its state: each item, and the unit's own parts."""
    items = {
        item.key: {"state": item.state.value, "asked": item.asked, "found": item.found}
        for item in outcome.items
    }
    parts = {name: list(names) for name, names in sent.parts.items()}
    return {"items": items, "parts": parts} if parts else {"items": items}

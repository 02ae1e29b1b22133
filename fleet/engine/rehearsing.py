"""A dry run of a step: all of it up to the write, and nothing sent but reads.

The unit is read, the whole value worked out, held against the unit's description, and the request laid
ready with its If-Match; of a unit that takes its values part by part, each part that would be written is
read and held against its own schema, in the order in which they would go out.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.description.assembly import taken_apart
from fleet.description.checking import check_value
from fleet.description.documents import Json
from fleet.description.things import Affordance
from fleet.description.write_order import in_order
from fleet.engine.applying import open_step_of, stands_already, unsettled, worked_out
from fleet.engine.outcomes import in_words
from fleet.engine.unit_values import read_part
from fleet.inventory.inventory import Inventory
from fleet.link.unit_link import UnitLink
from fleet.model.errors import PlanError, UnitError, WalkdownError
from fleet.model.journal import WriteStep


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """What a step would do.

    Attributes:
        label, part: which unit, which part of it.
        could: whether it would go out; also true where nothing is left to write.
        said: what would be written, or why not.
        sends: each write that would go out, in its order, in words.
    """

    label: str
    part: str
    could: bool
    said: str
    sends: tuple[str, ...] = ()


async def rehearse_step(inventory: Inventory, link: UnitLink, step: WriteStep) -> Rehearsal:
    """Do all of a step but the write; nothing changes in the unit, the inventory or the journal.

    Raises:
        InventoryError: the inventory can't be read.
    """
    doubtful = open_step_of(inventory, step.serial)
    if doubtful is not None:
        return Rehearsal(step.label, step.part, could=False, said=str(unsettled(step, doubtful)))
    try:
        current = await read_part(link, step.part)
        if stands_already(step, current):
            said = f"stands already, nothing would be sent: {in_words(step.items)}"
            return Rehearsal(step.label, step.part, could=True, said=said)
        value = worked_out(link, step, current)
        sends = await _sends(link, current.affordance, value, current.etag)
    except WalkdownError as reason:
        return Rehearsal(step.label, step.part, could=False, said=str(reason))
    said = f"would be written: {in_words(step.items)}"
    return Rehearsal(step.label, step.part, could=True, said=said, sends=sends)


async def _sends(
    link: UnitLink, affordance: Affordance, value: Json, etag: str | None
) -> tuple[str, ...]:
    """Return each write in words.

    Raises:
        PlanError: a part can't be written, or its schema rules its value out.
        LinkError, UnitError: a part can't be read.
    """
    if not affordance.parts:
        form = affordance.form("writeproperty")
        tagged = f", only over {etag}" if form is not None and form.if_match else ""
        return (f"{affordance.name}, whole{tagged}",)
    standing = await _standing(link, affordance, value)
    writes = in_order(affordance, standing, taken_apart(affordance, value, standing))
    for name, wanted in writes:
        part = link.thing.properties[name]
        if part.form("writeproperty") is None:
            raise PlanError(f"its {name} can't be written.", subject=link.subject)
        check_value(part, wanted, link.subject)
    return tuple(f"{name}: {standing.get(name)} → {wanted}" for name, wanted in writes)


async def _standing(link: UnitLink, affordance: Affordance, value: Json) -> Mapping[str, Json]:
    """Return what the parts hold; a refused one that would be written ends it.

    Raises:
        UnitError, LinkError: a part that would be written can't be read.
    """
    found: dict[str, Json] = {}
    refused: dict[str, UnitError | PlanError] = {}
    for part in affordance.parts:
        try:
            found[part.name] = (await link.read(link.thing.properties[part.name])).value
        except (UnitError, PlanError) as reason:
            refused[part.name] = reason
    for name in taken_apart(affordance, value, found):
        if name in refused:
            raise refused[name]
    return found

"""A person's choice about one item of a unit: written down, and carried into the plan.

The choice is in the journal before the plan changes, so that a plan that changed says why. To keep or
type another mount moves the unit's line in the schedule, and its areas are carried into the new view.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from fleet.inventory.inventory import Inventory
from fleet.jobs.comparing import compare_unit
from fleet.jobs.deciding import DECIDED, choices_for, detail_of
from fleet.jobs.merging import planned_after, refuse_unfit_choice
from fleet.model.errors import PlanError
from fleet.model.sheets import Choice, Comparison, Take, Value
from fleet.model.units import Unit


def choose(inventory: Inventory, unit: Unit, key: str, choice: Choice) -> Value | None:
    """Keep a person's choice about one item; return what is planned from now on.

    Raises:
        PlanError: no sheet of the unit has the item, or the choice is unfit.
        InventoryError: it can't be stored.
    """
    item = _item_of(unit, key)
    refuse_unfit_choice(item, choice)
    planned = planned_after(item, choice)
    if key.startswith("mount."):
        _refuse_no_mount(unit, key, planned)
    inventory.append(DECIDED, unit.line.serial, detail_of(item, choice))
    if choice.take is not Take.PLANNED:
        _plan(inventory, unit, key, planned, choice)
    return planned


def standing_choices(
    inventory: Inventory, units: Iterable[Unit]
) -> Mapping[str, Mapping[str, Choice]]:
    """Return serial → item → the last choice about it that still holds."""
    rows = inventory.journal_of(DECIDED)
    chosen = {row.subject for row in rows}
    return {
        unit.line.serial: choices_for(unit.line.serial, compare_unit(unit), rows)
        for unit in units
        if unit.line.serial in chosen
    }


def _item_of(unit: Unit, key: str) -> Comparison:
    item = next((one for one in compare_unit(unit) if one.key == key), None)
    if item is None:
        raise PlanError(
            "no sheet of the unit has this item.",
            subject=f"{unit.line.label} {key}",
            stands="Nothing was decided.",
        )
    return item


def _plan(
    inventory: Inventory, unit: Unit, key: str, planned: Value | None, choice: Choice
) -> None:
    if not key.startswith("mount."):
        inventory.save_planned_item(unit.line.serial, key, planned, why=choice.why, by=choice.by)
        return
    pose = replace(unit.line.pose, **{key.removeprefix("mount."): planned})
    inventory.save_line(replace(unit.line, pose=pose), why=f"{choice.by}: {choice.why}")


def _refuse_no_mount(unit: Unit, key: str, planned: Value | None) -> None:
    now = getattr(unit.line.pose, key.removeprefix("mount."), None)
    if now is None or type(planned) is not type(now):
        raise PlanError(
            "a mount needs a value of the kind that it has.",
            subject=f"{unit.line.label} {key}",
            stands="Nothing was decided, and the plan stays as it was.",
        )

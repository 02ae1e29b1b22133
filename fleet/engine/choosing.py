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
from fleet.model.house import PlannedUnit
from fleet.model.sheets import Choice, Comparison, Take, Value, mount_of, mount_to_items
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
    line = _line_with(unit.line, key, planned) if key.startswith("mount.") else None
    inventory.append(DECIDED, unit.line.serial, detail_of(item, choice))
    if line is not None and line != unit.line:
        inventory.save_line(line, why=f"{choice.by}: {choice.why}")
    elif line is None and choice.take is not Take.PLANNED:
        serial, words = unit.line.serial, {"why": choice.why, "by": choice.by}
        inventory.save_planned_item(serial, key, planned, **words)
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


def _line_with(line: PlannedUnit, key: str, value: Value | None) -> PlannedUnit:
    """Return the line with one item of its mount changed; it raises where that can't be its value."""
    mount = {name: one for name, one in mount_to_items(line.pose).items() if name != key}
    if value is not None:
        mount[key] = value
    return replace(line, pose=mount_of(mount))

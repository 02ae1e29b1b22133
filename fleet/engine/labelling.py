"""Sticky labels for the units of a site, from the inventory's schedule."""

from pathlib import Path

from fleet.engine.identify_sweep import in_plan_order
from fleet.inventory.inventory import Inventory
from fleet.record.labels import Label, label_sheet, site_number

DEMO_NOTE = "DEMO: an invented house"


def labels_of(inventory: Inventory) -> tuple[Label, ...]:
    """Return a label for each unit of the current site that has a serial, in the order of the plan.

    Raises:
        PlanError: there is no site yet.
        RecordError: the journal doesn't tell of the site.
    """
    plan = inventory.plan()
    number = site_number(inventory.journal(), plan.site.name)
    rooms = {room.key: room.name for room in plan.rooms}
    return tuple(
        Label(line.serial, line.label, rooms.get(line.room, line.room), number)
        for line in in_plan_order(plan)
        if line.serial
    )


def write_labels(
    labels: tuple[Label, ...], path: Path, *, demo: bool, start_at: int = 1, cut_marks: bool = False
) -> None:
    """Lay labels out as a PDF of A4 sheets; touches no inventory, so any thread may call it.

    Raises:
        PlanError: there are none, or the sheet has no such place.
        RecordError: the file is there, or can't be written.
    """
    note = DEMO_NOTE if demo else ""
    label_sheet(labels, path, start_at=start_at, cut_marks=cut_marks, note=note)

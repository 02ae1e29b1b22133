"""The sheet *planned* of a unit: its line in the schedule, the approved build, and people's decisions."""

from collections.abc import Iterable, Mapping

from fleet.jobs.areas import area_in_view
from fleet.jobs.builds import approved_for
from fleet.model.house import ApprovedBuild, PlannedUnit
from fleet.model.sheets import Sheet, Value, areas_to_items


def planned_sheet(
    line: PlannedUnit,
    builds: Iterable[ApprovedBuild],
    overrides: Mapping[str, Value | None] | None = None,
) -> Sheet:
    """Lay down what should stand in a unit.

    Args:
        line: the unit's line in the schedule; its areas are carried into the unit's view.
        builds: the approved builds.
        overrides: items that a person decided otherwise; None takes an item out of the plan.
    """
    sheet: dict[str, Value] = {
        "hardware.revision": line.hardware_revision,
        "module.type": line.module_type.value,
    }
    approved = approved_for(line.hardware_revision, line.module_type, builds)
    if approved is not None:
        sheet["build.version"] = approved.version
        sheet["build.id"] = approved.build_id
    sheet.update({f"setting.{name}": value for name, value in line.settings.items()})
    sheet.update(areas_to_items(tuple(area_in_view(area, line.pose) for area in line.areas)))
    for key, value in (overrides or {}).items():
        if value is None:
            sheet.pop(key, None)
        else:
            sheet[key] = value
    return sheet

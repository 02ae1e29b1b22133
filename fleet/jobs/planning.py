"""What should stand in a unit, and where each value comes from: schedule, templates, builds, decisions.

From the farthest to the nearest: the build approved for the site; the site's, the room kind's and the
room's template; the unit's line in the schedule; what a person decided about the unit. The nearest wins,
and all the others are kept beside it, so that a view can say what was passed over. The sheet *planned*
is these values and nothing else.
"""

from collections.abc import Iterable, Mapping

from fleet.jobs.areas import area_in_view
from fleet.jobs.builds import approved_for
from fleet.jobs.templates import values_for
from fleet.model.house import ApprovedBuild, PlannedUnit, Room
from fleet.model.sheets import Sheet, Value, areas_to_items, mount_to_items
from fleet.model.templates import (
    Decision,
    Level,
    Origin,
    OriginRow,
    Planned,
    Shadowed,
    Template,
)
from fleet.model.units import Unit


def planned_values(
    line: PlannedUnit,
    builds: Iterable[ApprovedBuild],
    *,
    room: Room | None = None,
    templates: Iterable[Template] = (),
    decisions: Mapping[str, Decision] | None = None,
) -> Mapping[str, Planned]:
    """Say what should stand in a unit, item by item, and where each value comes from.

    Args:
        line: the unit's line in the schedule; its areas are carried into the unit's view.
        builds: the approved builds.
        room: the room that it belongs in; None to leave templates out.
        templates: the site's templates.
        decisions: items that a person decided otherwise; a value of None takes an item out.
    """
    layers: dict[str, tuple[Shadowed, ...]] = {}
    layers |= {key: (one,) for key, one in _build_values(line, builds).items()}
    if room is not None:
        layers |= values_for(line, room, templates)
    for key, one in _schedule_values(line).items():
        layers[key] = (one, *layers.get(key, ()))
    planned = {key: _planned(values) for key, values in _in_sheet_order(layers).items()}
    for key, decision in (decisions or {}).items():
        planned[key] = _decided(line, decision, layers.get(key, ()))
    return planned


def planned_sheet(
    line: PlannedUnit,
    builds: Iterable[ApprovedBuild],
    overrides: Mapping[str, Value | None] | None = None,
) -> Sheet:
    """Lay down what should stand in a unit where there are no templates.

    Args:
        line: the unit's line in the schedule; its areas are carried into the unit's view.
        builds: the approved builds.
        overrides: items that a person decided otherwise; None takes an item out of the plan.
    """
    decisions = {key: Decision(value, "", "") for key, value in (overrides or {}).items()}
    return sheet_of(planned_values(line, builds, decisions=decisions))


def sheet_of(planned: Mapping[str, Planned]) -> Sheet:
    """Return the sheet of planned values; what was taken out of the plan isn't in it."""
    return {key: one.value for key, one in planned.items() if one.value is not None}


def where_from(unit: Unit) -> tuple[OriginRow, ...]:
    """Say where each planned value of a unit comes from, in the order of the keys."""
    return tuple(
        OriginRow(
            key,
            one.value,
            one.origin.level,
            one.origin.words,
            one.why,
            tuple((passed.value, passed.origin.words) for passed in one.shadowed),
        )
        for key, one in sorted(unit.planned_from.items())
    )


def _build_values(line: PlannedUnit, builds: Iterable[ApprovedBuild]) -> Mapping[str, Shadowed]:
    approved = approved_for(line.hardware_revision, line.module_type, builds)
    if approved is None:
        return {}
    part = f"the build approved for {line.hardware_revision} with {line.module_type} modules"
    items: dict[str, Value] = {
        "build.version": approved.version,
        "build.id": approved.build_id,
        "build.sequence": approved.sequence,
    }
    if approved.image_digest:
        items["build.image_digest"] = approved.image_digest
    return {key: Shadowed(value, Origin(Level.SITE, "", part)) for key, value in items.items()}


def _schedule_values(line: PlannedUnit) -> Mapping[str, Shadowed]:
    areas = areas_to_items(tuple(area_in_view(area, line.pose) for area in line.areas))
    items: dict[str, Value] = {
        "hardware.revision": line.hardware_revision,
        "module.type": line.module_type.value,
        **{f"setting.{name}": value for name, value in line.settings.items()},
        **areas,
        **mount_to_items(line.pose),
    }
    schedule = Origin(Level.UNIT, line.label, "its line in the schedule")
    drawn = Origin(Level.UNIT, line.label, "drawn on the plan")
    return {
        key: Shadowed(value, drawn if key in areas else schedule) for key, value in items.items()
    }


def _in_sheet_order(
    layers: Mapping[str, tuple[Shadowed, ...]],
) -> Mapping[str, tuple[Shadowed, ...]]:
    """Hardware and module come before the build, then settings, areas and mount, as they were laid."""
    order = ("hardware", "module", "build", "setting", "areas", "mount")
    return dict(sorted(layers.items(), key=lambda item: order.index(item[0].split(".", 1)[0])))


def _planned(values: tuple[Shadowed, ...]) -> Planned:
    first, *passed_over = values
    return Planned(first.value, first.origin, first.origin.why, tuple(passed_over))


def _decided(line: PlannedUnit, decision: Decision, passed_over: tuple[Shadowed, ...]) -> Planned:
    origin = Origin(Level.UNIT, line.label, by=decision.by, why=decision.why)
    return Planned(decision.value, origin, decision.why, passed_over)

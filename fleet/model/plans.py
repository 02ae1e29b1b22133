"""Reading a plan file's document into values, with a reason in words where it doesn't hold together."""

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

import msgspec

from fleet.model.errors import PlanError
from fleet.model.house import HousePlan

FORMAT = "walkdown-plan/1"
FEWEST_CORNERS = 3


def plan_from(document: Mapping[str, Any], *, subject: str) -> HousePlan:
    """Turn the JSON document of a plan file into a plan.

    Args:
        document: the parsed file.
        subject: the file's name, for messages.

    Raises:
        PlanError: a member is missing, of the wrong type, or points to nothing.
    """
    try:
        plan = msgspec.convert(document, HousePlan)
    except msgspec.ValidationError as reason:
        raise _wrong(subject, str(reason)) from reason
    for complaint in complaints_about(plan):
        raise _wrong(subject, complaint)
    return plan


def complaints_about(plan: HousePlan) -> Iterable[str]:
    """Say each thing in a plan that points to nothing or stands twice."""
    if plan.format != FORMAT:
        yield f"its format is {plan.format!r}, and this program reads {FORMAT!r}"
    yield from _repetitions(plan)
    yield from _odd_rooms(plan)
    yield from _odd_units(plan)
    yield from _odd_visits(plan)


def _repetitions(plan: HousePlan) -> Iterable[str]:
    for what, names in _names(plan).items():
        for name, times in Counter(names).items():
            if times > 1:
                yield f"{what} {name!r} stands {times} times"


def _odd_rooms(plan: HousePlan) -> Iterable[str]:
    floors = {floor.key for floor in plan.floors}
    for room in plan.rooms:
        if room.floor not in floors:
            yield f"room {room.key!r} is on floor {room.floor!r}, which is not there"
        if len(room.outline_mm) < FEWEST_CORNERS:
            yield f"room {room.key!r} has an outline of fewer than three corners"


def _odd_units(plan: HousePlan) -> Iterable[str]:
    rooms = {room.key for room in plan.rooms}
    for unit in plan.units:
        if unit.room not in rooms:
            yield f"unit {unit.label!r} is in room {unit.room!r}, which is not there"


def _odd_visits(plan: HousePlan) -> Iterable[str]:
    rooms = {room.key for room in plan.rooms}
    labels = {unit.label for unit in plan.units}
    for visit in plan.visits:
        named = {note.unit for note in visit.soaks} | set(visit.as_left)
        for label in sorted(named - labels):
            yield f"an earlier visit speaks of unit {label!r}, which is not in the schedule"
        for room_visit in visit.rooms:
            if room_visit.room not in rooms:
                yield f"an earlier visit speaks of room {room_visit.room!r}, which is not there"


def _names(plan: HousePlan) -> Mapping[str, list[str]]:
    return {
        "floor": [floor.key for floor in plan.floors],
        "room": [room.key for room in plan.rooms],
        "unit label": [unit.label for unit in plan.units],
        "serial": [unit.serial for unit in plan.units if unit.serial],
    }


def _wrong(subject: str, reason: str) -> PlanError:
    return PlanError(
        f"the plan can't be used: {reason}.",
        subject=subject,
        stands="Nothing was taken over from it.",
        next_step="Mend the file and add it again.",
    )

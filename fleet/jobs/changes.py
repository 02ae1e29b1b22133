"""Pending changes: what a review offers to write, and the writes that chosen changes come to.

Only settings and areas are written here; a build is installed and a module fitted by other means. An
item that somebody changed on site, or that all three sheets disagree about, is offered but waits for a
person's choice; once a person took the plan's value or typed another, it is to apply like any other.
"""

from collections.abc import Iterable, Mapping, Sequence

from fleet.jobs.comparing import compare, with_standing
from fleet.model.errors import PlanError
from fleet.model.journal import Change, WriteStep
from fleet.model.sheets import Choice, Comparison, Sheet, Standing, Take, Value
from fleet.model.units import Reading, Unit

PARTS = {"setting": "settings", "areas": "areas"}

_REASONS = {
    Standing.TO_APPLY: "the plan has moved on since the unit was left",
    Standing.CHANGED_ON_SITE: "somebody changed it on site since it was left",
    Standing.CONFLICT: "plan, unit and what was left all differ",
    Standing.UNREADABLE: "the unit doesn't hold it",
}
_CHOSEN = {Take.PLANNED: "to go back to the plan", Take.TYPED: "on another value"}


def pending_changes(
    units: Iterable[Unit], choices: Mapping[str, Mapping[str, Choice]] | None = None
) -> tuple[Change, ...]:
    """List what differs from the plan and can be written, unit by unit, item by item.

    Args:
        units: the inventory's units with their sheets.
        choices: serial → item → a person's choice that still holds.
    """
    choices = choices or {}
    return tuple(
        change
        for unit in units
        if unit.found
        for change in _changes_of(unit, choices.get(unit.line.serial, {}))
    )


def steps_for(changes: Sequence[Change], readings: Mapping[str, Reading]) -> tuple[WriteStep, ...]:
    """Turn chosen changes into writes: one a unit for its settings, one for its whole area set.

    Raises:
        PlanError: a change names a unit that was never read.
    """
    grouped: dict[tuple[str, str], list[Change]] = {}
    for change in changes:
        grouped.setdefault((change.serial, _part(change.key)), []).append(change)
    return tuple(
        _step(serial, part, chosen, readings) for (serial, part), chosen in grouped.items()
    )


def restoring_step(step: WriteStep) -> WriteStep:
    """Return the write that puts back what stood before another one."""
    return WriteStep(step.serial, step.label, step.url, step.part, step.before, step.items)


def _changes_of(unit: Unit, choices: Mapping[str, Choice]) -> Iterable[Change]:
    found = unit.found.sheet if unit.found else None
    if found and _module_differs(unit.planned, found):
        return
    for item in with_standing(compare(unit.planned, found, unit.as_left), *_REASONS):
        if _can_be_written(item):
            yield _change(unit, item, choices.get(item.key))


def _module_differs(planned: Sheet, found: Sheet) -> bool:
    """A swapped module is dealt with as a whole: writing its settings one by one would hide it."""
    return found.get("module.type", planned.get("module.type")) != planned.get("module.type")


def _can_be_written(item: Comparison) -> bool:
    """A setting that the unit doesn't have can't be given to it; an area that it doesn't hold can."""
    if item.standing is Standing.UNREADABLE:
        return item.key.startswith("areas.") and item.planned is not None
    return bool(_part(item.key))


def _change(unit: Unit, item: Comparison, choice: Choice | None) -> Change:
    standing = item.standing
    if standing is Standing.UNREADABLE:
        standing = Standing.TO_APPLY if item.as_left is None else Standing.CHANGED_ON_SITE
    reason = _REASONS[standing]
    if choice is not None and choice.take is not Take.FOUND:
        standing = Standing.TO_APPLY
        reason = f"{choice.by} decided {_CHOSEN[choice.take]}: {choice.why}"
    return Change(
        serial=unit.line.serial,
        label=unit.line.label,
        key=item.key,
        as_left=item.as_left,
        found=item.found,
        planned=item.planned,
        reason=reason,
        disrupts="presence in the area starts anew" if item.key.startswith("areas.") else "",
        standing=standing,
    )


def _part(key: str) -> str:
    return PARTS.get(key.split(".", 1)[0], "")


def _step(
    serial: str, part: str, chosen: Sequence[Change], readings: Mapping[str, Reading]
) -> WriteStep:
    reading = readings.get(serial)
    if reading is None:
        raise PlanError(
            "it was never read, so nothing can be written to it.",
            subject=chosen[0].label,
            next_step="Scan and read it first.",
        )
    items: dict[str, Value | None] = {change.key: change.planned for change in chosen}
    before = {key: reading.sheet.get(key) for key in items}
    return WriteStep(serial, chosen[0].label, reading.url, part, items, before)

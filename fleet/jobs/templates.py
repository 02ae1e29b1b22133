"""Room templates put to work: read, checked, and turned into settings and checklists.

What wins, the last one first: the room's own template, the room kind's, the site's; within one, rules
for the unit's module type, then rules for all; of two rules of the same kind, the later.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import msgspec

from fleet.jobs.checklists import Checklist, ChecklistItem
from fleet.model.errors import PlanError
from fleet.model.house import ModuleType, PlannedUnit, Room, RoomKind
from fleet.model.sheets import Value
from fleet.model.templates import (
    FORMAT,
    AddedItem,
    ChecklistRule,
    Level,
    Origin,
    SettingRule,
    Shadowed,
    Template,
)

ACCEPTANCE = "acceptance"
"""The item that no template may leave out: a room is accepted by a named person, or it isn't."""

_BY_PEOPLE = ("tick", "photo")
_UNITS = ("_mm", "_s", "_ms", "_mdeg", "_ppm", "_percent")
_ORDER = tuple(Level)


def template_from(document: Mapping[str, Any], *, subject: str) -> Template:
    """Turn a template file's document into a template.

    Raises:
        PlanError: a member is missing, of the wrong type, or means nothing.
    """
    try:
        template = msgspec.convert(document, Template)
    except msgspec.ValidationError as reason:
        raise _wrong(subject, str(reason)) from reason
    refuse_odd(complaints_about(template), subject=subject)
    return template


def refuse_odd(complaints: Iterable[str], *, subject: str) -> None:
    """Refuse a template, or values, about which there is a complaint.

    Raises:
        PlanError: there is one; the first is told.
    """
    for complaint in complaints:
        raise _wrong(subject, complaint)


def template_document(template: Template) -> dict[str, Any]:
    """Return the document of a template file; `template_from` reads it back as it was."""
    return dict(msgspec.to_builtins(template))


def complaints_about(template: Template) -> Iterator[str]:
    """Say each thing in a template that means nothing."""
    if template.format != FORMAT:
        yield f"its format is {template.format!r}, and this program reads {FORMAT!r}"
    yield from _odd_subject(template)
    for setting_rule in template.settings:
        yield from odd_values(setting_rule.values)
    for rule in template.checklist:
        yield from _odd_items(rule)
    added = Counter(item.key for rule in template.checklist for item in rule.add)
    yield from (f"the item {key!r} is added {n} times" for key, n in added.items() if n > 1)


def odd_values(values: Mapping[str, Value | None]) -> Iterator[str]:
    """Say each setting without a name, and each that names a unit and is no whole number."""
    for name, value in values.items():
        if not name.strip():
            yield "a setting has no name"
        if name.endswith(_UNITS) and value is not None and type(value) is not int:
            yield f"{name} is {value!r}, and what ends with a unit is a whole number"


def values_for(
    line: PlannedUnit, room: Room, templates: Iterable[Template]
) -> Mapping[str, tuple[Shadowed, ...]]:
    """Return what templates set for a unit.

    Args:
        line: the unit's line in the schedule.
        room: the room that it belongs in.
        templates: the site's.

    Returns:
        Sheet key → every value that is set for it with its origin, the one that wins first.
    """
    values: dict[str, tuple[Shadowed, ...]] = {}
    for template in templates_for(room, templates):
        for rule in _general_first(template.settings, line.module_type):
            origin = _origin(template, rule)
            for name, value in rule.values.items():
                key = f"setting.{name}"
                values[key] = (Shadowed(value, origin), *values.get(key, ()))
    return values


def templates_for(room: Room, templates: Iterable[Template]) -> tuple[Template, ...]:
    """Return the templates that count in a room, the farthest level first."""
    counting = [template for template in templates if _counts(template, room)]
    return tuple(sorted(counting, key=lambda template: _ORDER.index(template.level)))


def checklist_with(
    checklist: Checklist,
    room: Room,
    modules: Collection[ModuleType],
    templates: Iterable[Template],
) -> Checklist:
    """Return a room's checklist with what templates add and leave out.

    Added items stand before the acceptance; one of a key that is there already takes its place, so that
    a template may word an item better, unless evidence alone can fill it. A nearer level may add again
    what a farther one left out.

    Args:
        checklist: the shipped one for the room's kind.
        room: the room.
        modules: the module types planned for it, one for each unit.
        templates: the site's.
    """
    items, shipped = list(checklist.items), {item.key: item for item in checklist.items}
    for template in templates_for(room, templates):
        for rule in template.checklist:
            if _all_have(rule, modules):
                dropped = {left.key for left in rule.leave_out} - {ACCEPTANCE}
                items = [item for item in items if item.key not in dropped]
            if _any_has(rule, modules):
                for added in rule.add:
                    items = _with_item(items, _worded(added, shipped.get(added.key)))
    return replace(checklist, items=tuple(items))


def with_values(
    template: Template,
    module_type: ModuleType | None,
    values: Mapping[str, Value | None],
    *,
    why: str,
) -> Template:
    """Return a template in which some settings are set anew, or (None) no longer set.

    Args:
        template: as it was.
        module_type: for which modules; None for the rules that are meant for all.
        values: by the part of the sheet key after "setting.".
        why: the reason of the new values.
    """
    kept = [_without(rule, values) for rule in template.settings if rule.module_type == module_type]
    others = [rule for rule in template.settings if rule.module_type != module_type]
    new = {name: value for name, value in values.items() if value is not None}
    rules = [*others, *kept, SettingRule(new, module_type, why)]
    return replace(template, settings=tuple(rule for rule in rules if rule.values))


def _without(rule: SettingRule, names: Collection[str]) -> SettingRule:
    return replace(rule, values={n: v for n, v in rule.values.items() if n not in names})


def _counts(template: Template, room: Room) -> bool:
    subjects = {Level.SITE: "", Level.ROOM_KIND: room.kind.value, Level.ROOM: room.key}
    return template.level in subjects and template.subject == subjects[template.level]


def _general_first(rules: Sequence[SettingRule], module_type: ModuleType) -> list[SettingRule]:
    general = [rule for rule in rules if rule.module_type is None]
    return [*general, *(rule for rule in rules if rule.module_type is module_type)]


def _origin(template: Template, rule: SettingRule) -> Origin:
    part = f"{rule.module_type} modules" if rule.module_type else ""
    return Origin(template.level, template.subject, part, why=rule.why)


def _all_have(rule: ChecklistRule, modules: Collection[ModuleType]) -> bool:
    """Leaving an item out needs every unit of the room to be of that module; no unit is none of it."""
    return rule.module_type is None or set(modules) == {rule.module_type}


def _any_has(rule: ChecklistRule, modules: Collection[ModuleType]) -> bool:
    return rule.module_type is None or rule.module_type in modules


def _worded(added: AddedItem, shipped: ChecklistItem | None) -> ChecklistItem:
    if shipped is not None and shipped.evidence not in _BY_PEOPLE:
        return shipped
    return ChecklistItem(added.key, added.text, added.evidence)


def _with_item(items: list[ChecklistItem], new: ChecklistItem) -> list[ChecklistItem]:
    keys = [item.key for item in items]
    if new.key in keys:
        at = keys.index(new.key)
        return [*items[:at], new, *items[at + 1 :]]
    at = keys.index(ACCEPTANCE) if ACCEPTANCE in keys else len(keys)
    return [*items[:at], new, *items[at:]]


def _odd_subject(template: Template) -> Iterator[str]:
    if template.level is Level.UNIT:
        yield "a single unit has no template: set its line in the schedule, or decide the item"
    if template.level is Level.SITE and template.subject:
        yield "a template of the whole site has no subject"
    if template.level is Level.ROOM and not template.subject:
        yield "a template of a room names the room by its key"
    if template.level is Level.ROOM_KIND and template.subject not in set(RoomKind):
        yield f"there is no kind of room {template.subject!r}: {', '.join(RoomKind)}"


def _odd_items(rule: ChecklistRule) -> Iterator[str]:
    for item in rule.add:
        if item.evidence not in _BY_PEOPLE:
            yield f"the item {item.key!r} is added as {item.evidence!r}, and not as tick or photo"
        if not item.key or not item.text.strip():
            yield "an added item has no key or no text"
    for left in rule.leave_out:
        if left.key == ACCEPTANCE:
            yield "the acceptance can't be left out"
        if not left.why.strip():
            yield f"the item {left.key!r} is left out without a reason"


def _wrong(subject: str, reason: str) -> PlanError:
    return PlanError(
        f"the template can't be used: {reason}.",
        subject=subject,
        stands="Nothing was taken over from it.",
        next_step="Mend the file and set it again.",
    )

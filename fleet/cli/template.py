"""`walkdown template list|set|where`: room templates, and where each planned value comes from."""

import argparse
from collections.abc import Callable, Mapping
from typing import Any

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, say, say_json, table
from fleet.cli.template_arguments import (
    add_template_arguments,
    refuse_mixture,
    setting_from,
    target_of,
)
from fleet.cli.template_words import (
    kept_document,
    kept_in_words,
    origin_document,
    origins_in_words,
)
from fleet.engine.evidence_store import load_lap
from fleet.engine.house_state import build_house_state
from fleet.engine.template_files import read_template, shipped_template
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.jobs.planning import where_from
from fleet.jobs.templates import (
    complaints_about,
    odd_values,
    refuse_odd,
    template_document,
    with_values,
)
from fleet.model.errors import PlanError
from fleet.model.house import ModuleType, RoomKind
from fleet.model.sheets import Value
from fleet.model.templates import Level, Template
from fleet.model.units import Unit


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    add_template_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Do what the second word says."""
    with open_inventory(arguments.data, real_clock()) as inventory:
        if inventory.site_name is None:
            raise PlanError("there is no site yet.", next_step="Add one: walkdown site add PLAN")
        return _VERBS[arguments.template_verb](inventory, arguments)


def _list(inventory: Inventory, arguments: argparse.Namespace) -> int:
    kept = inventory.templates()
    if arguments.json:
        examples = [template_document(shipped_template(kind)) for kind in RoomKind]
        say_json({"templates": [kept_document(one) for one in kept], "examples": examples})
        return DONE
    say(
        table([kept_in_words(one) for one in kept])
        if kept
        else "no templates: the plan alone counts"
    )
    say(f"Examples that can be set: {', '.join(RoomKind)}.")
    return DONE


def _set(inventory: Inventory, arguments: argparse.Namespace) -> int:
    refuse_mixture(arguments)
    words = {"by": arguments.by, "why": arguments.why}
    if arguments.file is not None:
        return _keep(inventory, read_template(arguments.file), words)
    if arguments.example is not None:
        return _keep(inventory, shipped_template(RoomKind(arguments.example)), words)
    values = dict(setting_from(text) for text in arguments.values)
    if arguments.unit is not None:
        return _decide(inventory, arguments.unit, values, words)
    level, subject = target_of(arguments)
    if arguments.drop:
        inventory.drop_template(level, subject, **words)
        say(f"{level} {subject}".strip() + ": its template was taken away.")
        return DONE
    module = ModuleType(arguments.module) if arguments.module else None
    template = with_values(
        _template_of(inventory, level, subject), module, values, why=arguments.why
    )
    return _keep(inventory, template, words)


def _keep(inventory: Inventory, template: Template, words: Mapping[str, str]) -> int:
    named = f"{template.level} {template.subject}".strip()
    refuse_odd(complaints_about(template), subject=named)
    inventory.save_template(template, by=words["by"], why=words["why"])
    names = sorted({name for rule in template.settings for name in rule.values})
    say(f"{named}: it sets {', '.join(names) or 'no settings'}.")
    say("No unit was written to: walkdown jobs says what is to apply now.")
    return DONE


def _decide(
    inventory: Inventory,
    named: str,
    values: Mapping[str, Value | None],
    words: Mapping[str, str],
) -> int:
    line = _unit(inventory, named).line
    if not line.serial:
        raise PlanError(
            "it has no serial yet, so nothing can be decided about it alone.",
            subject=line.label,
            next_step="Set the values for its room: walkdown template set --room.",
        )
    refuse_odd(odd_values(values), subject=f"unit {line.label}")
    for name, value in values.items():
        key = f"setting.{name}"
        inventory.save_planned_item(line.serial, key, value, why=words["why"], by=words["by"])
    say(f"unit {line.label}: decided {', '.join(values)}. No unit was written to.")
    return DONE


def _where(inventory: Inventory, arguments: argparse.Namespace) -> int:
    unit = _unit(inventory, arguments.unit)
    rows = where_from(unit)
    if arguments.json:
        say_json(_where_document(unit, [origin_document(row) for row in rows]))
    else:
        say(f"{unit.line.label} in {unit.line.room}:")
        say(origins_in_words(rows))
    return DONE


def _where_document(unit: Unit, items: list[dict[str, Any]]) -> dict[str, Any]:
    line = unit.line
    return {"unit": line.label, "serial": line.serial, "room": line.room, "items": items}


def _unit(inventory: Inventory, named: str) -> Unit:
    units = build_house_state(inventory, load_lap(inventory), {}, real_clock().now()).units.values()
    for unit in units:
        if named in (unit.line.label, unit.line.serial):
            return unit
    raise PlanError(
        "no unit of the schedule has this label or serial.",
        subject=named,
        next_step=f"Name one of: {', '.join(unit.line.label for unit in units) or 'none is there'}.",
    )


def _template_of(inventory: Inventory, level: Level, subject: str) -> Template:
    for kept in inventory.templates():
        if (kept.template.level, kept.template.subject) == (level, subject):
            return kept.template
    return Template(level, subject)


_VERBS: Mapping[str, Callable[[Inventory, argparse.Namespace], int]] = {
    "list": _list,
    "set": _set,
    "where": _where,
}

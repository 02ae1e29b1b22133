"""A unit's settings as items of a sheet, and items back into the value that the unit takes.

Members are found by their type, never by name; one without a type of ours keeps the unit's own name.
"""

from collections.abc import Mapping

from fleet.description.documents import Json
from fleet.description.texts import plain_number, plain_text
from fleet.description.things import Affordance
from fleet.description.values import fields, with_fields
from fleet.description.vocabulary import (
    HOLD_TIME,
    INDICATOR_LIGHT,
    MAX_DISTANCE,
    MOUNTING_HEIGHT,
    PRES,
    SENSITIVITY,
)
from fleet.model.sheets import Sheet, Value

PREFIX = "setting."

NAMES: Mapping[str, str] = {
    MAX_DISTANCE: "max_distance_mm",
    HOLD_TIME: "hold_time_s",
    SENSITIVITY: "sensitivity_percent",
    MOUNTING_HEIGHT: "mounting_height_mm",
    INDICATOR_LIGHT: "indicator_light",
}
TYPES: Mapping[str, str] = {name: type_iri for type_iri, name in NAMES.items()}


def settings_items(affordance: Affordance, value: Json) -> Sheet:
    """Return a settings value as items of a sheet; what is no plain value is left out."""
    items: dict[str, Value] = {}
    for member, said in fields(affordance.schema, value).items():
        key = PREFIX + NAMES.get(member, plain_text(member.removeprefix(PRES)))
        if isinstance(said, str):
            items[key] = plain_text(said)
        elif isinstance(said, bool):
            items[key] = said
        elif isinstance(said, int | float):
            items[key] = plain_number(said)
    return items


def settings_value(
    affordance: Affordance, current: Json, items: Mapping[str, Value | None]
) -> Json:
    """Return the whole settings value to write: what the unit holds, with these items in it.

    Raises:
        PlanError: the unit has no such setting.
    """
    changes: dict[str, Json] = {}
    for key, wanted in items.items():
        name = key.removeprefix(PREFIX)
        if wanted is not None:
            changes[TYPES.get(name, name)] = wanted
    return with_fields(affordance, current, changes)

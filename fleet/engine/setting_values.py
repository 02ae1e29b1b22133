"""A unit's settings as items of a sheet, and items back into the value that the unit takes.

Members are found by their type, never by name; one without a type of ours keeps the unit's own name.
"""

from collections.abc import Iterator, Mapping

from fleet.description.documents import Json, as_object
from fleet.description.schemas import Schema, is_number, members_of, types_of
from fleet.description.units import UNCHANGED, Scale, leading_type, scale_of
from fleet.description.vocabulary import (
    HOLD_TIME,
    INDICATOR_LIGHT,
    MAX_DISTANCE,
    MOUNTING_HEIGHT,
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


def settings_items(schema: Schema, value: Json) -> Sheet:
    """Return a settings value as items of a sheet, in our units; what is no plain value is left out."""
    held = as_object(value)
    items: dict[str, Value] = {}
    for key, name, member in _members(schema):
        said = held.get(name)
        if isinstance(said, bool | str):
            items[key] = said
        elif is_number(said) and isinstance(said, int | float):
            items[key] = round(_scale(member).to_ours(said))
    return items


def settings_value(schema: Schema, current: Json, items: Mapping[str, Value | None]) -> Json:
    """Return the whole settings value to write: what the unit holds, with these items in it."""
    changed: dict[str, Json] = dict(as_object(current))
    for key, name, member in _members(schema):
        wanted = items.get(key)
        if wanted is None:
            continue
        step = member.get("multipleOf")
        changed[name] = (
            wanted
            if isinstance(wanted, bool | str)
            else _scale(member).to_theirs(
                wanted,
                step if isinstance(step, int | float) else None,
                whole=member.get("type") == "integer",
            )
        )
    return changed


def _members(schema: Schema) -> Iterator[tuple[str, str, Schema]]:
    """Yield sheet key, the unit's own name and schema of each setting that can be written."""
    for name, member in members_of(schema).items():
        typed = leading_type(types_of(member))
        yield PREFIX + NAMES.get(typed, name), name, member


def _scale(member: Schema) -> Scale:
    return scale_of(leading_type(types_of(member)), member.get("unit")) or UNCHANGED

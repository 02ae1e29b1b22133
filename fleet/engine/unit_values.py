"""The two parts of a unit that are written, settings and area set, as items of its sheet."""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.description.documents import Json
from fleet.description.things import Affordance
from fleet.description.vocabulary import AREA_SET, SETTINGS
from fleet.engine.area_values import area_set_value, areas_from
from fleet.engine.setting_values import settings_items, settings_value
from fleet.link.unit_link import UnitLink
from fleet.model.sheets import Sheet, Value, areas_of, areas_to_items

TYPES = {"settings": SETTINGS, "areas": AREA_SET}


@dataclass(frozen=True, slots=True)
class PartRead:
    """One part of a unit as it was just read.

    Attributes:
        affordance: the property.
        value: as the unit gave it.
        etag: its ETag, None where it gave none.
        items: the same as items of a sheet.
    """

    affordance: Affordance
    value: Json
    etag: str | None
    items: Sheet


async def read_part(link: UnitLink, part: str) -> PartRead:
    """Read a part of a unit, "settings" or "areas".

    Raises:
        LinkError: the unit can't be reached.
        UnitError: it has no such part, or answered nonsense.
    """
    affordance = link.need_property(TYPES[part])
    read = await link.read(affordance)
    return PartRead(affordance, read.value, read.etag, items_of(part, affordance, read.value))


def items_of(part: str, affordance: Affordance, value: Json) -> Sheet:
    """Return a part's value as items of a sheet."""
    if part == "settings":
        return settings_items(affordance, value)
    return areas_to_items(areas_from(affordance.schema, value))


def with_items(part: str, current: PartRead, items: Mapping[str, Value | None]) -> Json:
    """Return the whole value to write: what the unit holds, with these items in it.

    Raises:
        PlanError: an item is no outline or no kind of area.
    """
    if part == "settings":
        return settings_value(current.affordance, current.value, items)
    merged = {**current.items, **{key: value for key, value in items.items() if value is not None}}
    for key in (key for key, value in items.items() if value is None):
        merged.pop(key, None)
    areas = [area for area in areas_of(merged) if area.outline_mm]
    return area_set_value(current.affordance.schema, current.value, areas)

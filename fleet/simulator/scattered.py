"""A unit whose settings and area edges are values of their own, each written by itself.

Such a unit can stand between two states of its settings or with half an area, which one that takes whole
values never does. Every place for an area has four edges in its view, mm, and a purpose; four zeros are no
area. An area whose edges are crossed counts as none until they are put right.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from fleet.model.sheets import Area, AreaKind, Value
from fleet.simulator import names
from fleet.simulator.figures import ModuleFigures
from fleet.simulator.rules import rectangle_of
from fleet.simulator.settings import Setting

LOST_WRITE = 2
"""The number of the single write that is lost, counted from 1, where the truth says that one is."""

RESET_AT_WRITE = 3
"""The number of the single write that meets a restart."""

LEFT, RIGHT, NEAR, FAR, PURPOSE = "left", "right", "near", "far", names.AREA_KIND
EDGE_TYPES = {LEFT: "AreaXStart", RIGHT: "AreaXEnd", NEAR: "AreaYStart", FAR: "AreaYEnd"}
NO_AREA: Mapping[str, int] = dict.fromkeys(EDGE_TYPES, 0)
_TUNE, _PLACE = "tune_", "place"

Place = dict[str, Any]
"""Edges by name, mm, and the purpose."""

Schema = dict[str, Any]


def scalar_schemas(settings: Sequence[Setting], figures: ModuleFigures) -> dict[str, Schema]:
    """Return every single value by its property's name, with its schema."""
    tuned = {_TUNE + setting.name: dict(setting.schema) for setting in settings}
    places = range(1, figures.most_areas + 1)
    return tuned | {
        f"{_PLACE}{place}_{member}": schema
        for place in places
        for member, schema in _place_schemas(figures.range_mm).items()
    }


def settings_parts(settings: Sequence[Setting]) -> list[dict[str, str]]:
    """Say from which properties the settings are put together, and where each goes."""
    return [{"property": _TUNE + one.name, "at": f"/{one.name}"} for one in settings]


def area_parts(figures: ModuleFigures) -> list[dict[str, str]]:
    """Say from which properties the area set is put together, and where each goes."""
    return [
        {"property": f"{_PLACE}{place + 1}_{member}", "at": f"/{names.AREAS}/{place}/{member}"}
        for place in range(figures.most_areas)
        for member in (*EDGE_TYPES, PURPOSE)
    ]


def places_of(areas: Sequence[Area], figures: ModuleFigures) -> list[Place]:
    """Lay areas into a unit's places, in their order."""
    filled = [_place_of(area) for area in areas]
    none: Place = {**NO_AREA, PURPOSE: AreaKind.WATCH.value}
    return [*filled, *(dict(none) for _ in range(figures.most_areas - len(filled)))]


def areas_of(places: Sequence[Place]) -> tuple[Area, ...]:
    """Return the areas that stand in a unit's places; each goes by the number of its place."""
    found = ((str(number), place) for number, place in enumerate(places, 1))
    return tuple(
        Area(key, f"Area {key}", AreaKind(place[PURPOSE]), _outline(place))
        for key, place in found
        if place[LEFT] < place[RIGHT] and place[NEAR] < place[FAR]
    )


def area_values(places: Sequence[Place]) -> list[Place]:
    """Return the places as the whole value has them."""
    return [dict(place) for place in places]


def value_of(
    values: Mapping[str, Value], settings: Sequence[Setting], places: Sequence[Place], name: str
) -> Value:
    """Return one single value by its property's name.

    Raises:
        KeyError: there is none of that name.
    """
    if name.startswith(_TUNE):
        return values[_key_of(settings, name)]
    number, member = _place_named(name)
    value: Value = places[number][member]
    return value


def take(
    values: dict[str, Value],
    settings: Sequence[Setting],
    places: Sequence[Place],
    name: str,
    value: Value,
) -> bool:
    """Keep one single value; return whether it belongs to an area."""
    if name.startswith(_TUNE):
        values[_key_of(settings, name)] = value
        return False
    number, member = _place_named(name)
    places[number][member] = value
    return True


def _key_of(settings: Sequence[Setting], name: str) -> str:
    keys = {_TUNE + setting.name: setting.key for setting in settings}
    return keys[name]


def _place_named(name: str) -> tuple[int, str]:
    place, _, member = name.removeprefix(_PLACE).partition("_")
    return int(place) - 1, member


def _place_of(area: Area) -> Place:
    rectangle = rectangle_of(area.outline_mm)
    if rectangle is None:
        raise ValueError(f"area {area.key} is no upright rectangle")
    left, near, right, far = rectangle
    return {LEFT: left, RIGHT: right, NEAR: near, FAR: far, PURPOSE: area.kind.value}


def _outline(place: Place) -> tuple[tuple[int, int], ...]:
    left, right, near, far = (int(place[edge]) for edge in EDGE_TYPES)
    return ((left, near), (right, near), (right, far), (left, far))


def _place_schemas(reach_mm: int) -> dict[str, Schema]:
    edges: dict[str, Schema] = {
        edge: {
            "@type": f"pres:{kind}",
            "type": "integer",
            "unit": "qunit:MilliM",
            "minimum": 0 if edge in {NEAR, FAR} else -reach_mm,
            "maximum": reach_mm,
        }
        for edge, kind in EDGE_TYPES.items()
    }
    kinds = [kind.value for kind in AreaKind]
    return edges | {PURPOSE: {"@type": "pres:AreaKind", "type": "string", "enum": kinds}}

"""Area sets whose areas are four numbers each (start and end of x and of y), as areas in mm and back.

1. The edges are found by their types, each in its own unit. Only rectangles along the unit's axes fit.
2. Where entries have no id of their own, their place in the list is it, from 1: "1", "2", ... Such a unit
   has a fixed number of places; an area goes to the place that its key names, and to no other.
3. A place that isn't used is null, or holds what the schema lists as `pres:absent`. A start that isn't
   before its end is no area either.
4. A unit that has no word for an area's kind only watches; one without labels calls an area by its key.
"""

from collections.abc import Mapping, Sequence

from fleet.description.assembly import same
from fleet.description.documents import Json, as_array, as_object
from fleet.description.limits import MAX_AREAS, MAX_PLACE_MM
from fleet.description.meanings import Meaning, meaning_of
from fleet.description.schemas import Schema, members_of
from fleet.description.texts import plain_text
from fleet.description.vocabulary import (
    ABSENT,
    AREA_EDGES,
    AREA_ID,
    AREA_KIND,
    AREA_LABEL,
    AREA_X_END,
    AREA_X_START,
    AREA_Y_END,
    AREA_Y_START,
)
from fleet.jobs.areas import rectangle
from fleet.model.errors import PlanError
from fleet.model.sheets import Area, AreaKind

AREAS = "areas"


def has_edges(schema: Schema) -> bool:
    """Say whether an area set's areas are four numbers each."""
    return set(AREA_EDGES) <= _members(schema).keys()


def edge_areas_from(schema: Schema, value: Json) -> tuple[Area, ...]:
    """Return the areas of a value; a place that isn't used, and what is no area, is left out."""
    listed = as_array(as_object(value).get(AREAS))
    read = [
        _area(str(place), as_object(entry), schema)
        for place, entry in enumerate(listed[:MAX_AREAS], 1)
    ]
    return tuple(area for area in read if area is not None)


def edge_area_entries(schema: Schema, current: Json, areas: Sequence[Area]) -> list[Json]:
    """Return the areas to write, as the unit's list takes them.

    Args:
        schema: the property's.
        current: the whole value that the unit holds.
        areas: rectangles in the unit's view, mm.

    Raises:
        PlanError: an area is no rectangle, of a kind that the unit doesn't know, or has no place.
    """
    listed = as_array(as_object(current).get(AREAS))
    if AREA_ID in _members(schema):
        held = {_key(as_object(entry), schema): as_object(entry) for entry in listed}
        return [_entry(area, held.get(area.key, {}), schema) for area in areas]
    return _in_places(schema, listed, {area.key: area for area in areas})


def _in_places(schema: Schema, listed: list[Json], areas: Mapping[str, Area]) -> list[Json]:
    described = as_object(members_of(schema).get(AREAS)).get("maxItems")
    number = described if isinstance(described, int) else len(listed)
    held = [*listed, *[None] * number][:number]
    places = {str(place): as_object(entry) for place, entry in enumerate(held, 1)}
    for key in areas:
        if key not in places:
            raise _refusal(
                f"area {key} has no place: this unit numbers its areas from 1 to {number}.",
                "Give it one of these numbers as its key.",
            )
    unused = _unused(schema)
    for key, entry in places.items():
        if key not in areas and entry and not unused:
            raise _refusal(
                f"this unit has no way of leaving place {key} unused.", "Keep an area there."
            )
    return [
        _entry(areas[key], entry, schema) if key in areas else (dict(unused) or None)
        for key, entry in places.items()
    ]


def _area(place: str, entry: dict[str, Json], schema: Schema) -> Area | None:
    edges = [_mm(entry, _members(schema)[edge]) for edge in AREA_EDGES]
    x_start, x_end, y_start, y_end = edges
    if x_start is None or x_end is None or y_start is None or y_end is None:
        return None
    unused = _unused(schema)
    if unused and all(same(entry.get(name), said) for name, said in unused.items()):
        return None
    kind = _said(entry, AREA_KIND, schema, AreaKind.WATCH.value)
    if x_start >= x_end or y_start >= y_end or kind not in set(AreaKind):
        return None
    key = _key(entry, schema) or place
    label = _said(entry, AREA_LABEL, schema, key)
    outline = rectangle((x_start, y_start), (x_end, y_end))
    return Area(key, plain_text(label), AreaKind(kind), outline)


def _entry(area: Area, held: dict[str, Json], schema: Schema) -> dict[str, Json]:
    """Return an area as the unit takes it, in what its place holds besides.

    Raises:
        PlanError: the unit can't hold it.
    """
    xs, ys = [x for x, _ in area.outline_mm], [y for _, y in area.outline_mm]
    low, high = (min(xs), min(ys)), (max(xs), max(ys))
    if set(area.outline_mm) != set(rectangle(low, high)):
        raise _refusal(
            f"area {area.key} is no rectangle along the unit's axes.", "Fit a rectangle to it."
        )
    members = _members(schema)
    if AREA_KIND not in members and area.kind is not AreaKind.WATCH:
        raise _refusal(
            f"area {area.key} is of kind {area.kind.value}; this unit only knows areas to watch.",
            "Leave it out, or plan it as one to watch.",
        )
    wanted: dict[str, Json] = {
        AREA_ID: area.key,
        AREA_KIND: area.kind.value,
        AREA_LABEL: area.label,
        AREA_X_START: low[0],
        AREA_X_END: high[0],
        AREA_Y_START: low[1],
        AREA_Y_END: high[1],
    }
    return {
        **held,
        **{
            members[type_iri][0]: members[type_iri][1].theirs(said)
            for type_iri, said in wanted.items()
            if type_iri in members
        },
    }


def _members(schema: Schema) -> dict[str, tuple[str, Meaning]]:
    """Return name and meaning of an area's members, by type."""
    items = as_object(as_object(members_of(schema).get(AREAS)).get("items"))
    meanings = {name: meaning_of(name, member) for name, member in members_of(items).items()}
    return {meaning.key: (name, meaning) for name, meaning in meanings.items()}


def _unused(schema: Schema) -> dict[str, Json]:
    return as_object(as_object(as_object(members_of(schema).get(AREAS)).get("items")).get(ABSENT))


def _mm(entry: dict[str, Json], member: tuple[str, Meaning]) -> int | None:
    name, meaning = member
    said = meaning.ours(entry.get(name))
    if isinstance(said, bool) or not isinstance(said, int | float):
        return None
    return round(said) if abs(said) <= MAX_PLACE_MM else None


def _key(entry: dict[str, Json], schema: Schema) -> str:
    return plain_text(_said(entry, AREA_ID, schema, ""))


def _said(entry: dict[str, Json], type_iri: str, schema: Schema, otherwise: str) -> str:
    member = _members(schema).get(type_iri)
    said = member[1].ours(entry.get(member[0])) if member else None
    return otherwise if said is None else str(said)


def _refusal(what: str, next_step: str) -> PlanError:
    return PlanError(what, stands="Nothing was sent.", next_step=next_step)

"""A unit's area set as areas in mm, and areas back into the value that the unit takes.

Id, label, kind and coordinates are found by their types; `areas`, `shape`, `min`, `max` and `vertices` keep
these names within an area set. A unit whose areas are four numbers each is `edge_areas`' matter.
"""

from collections.abc import Mapping, Sequence

from fleet.description.documents import Json, as_array, as_object
from fleet.description.everything import everything_said
from fleet.description.limits import MAX_AREAS, MAX_PLACE_MM, MAX_REPORT_NUMBER, MAX_VERTICES
from fleet.description.schemas import Schema, is_number, members_of, types_of
from fleet.description.texts import plain_text
from fleet.description.things import Affordance
from fleet.description.units import UNCHANGED, Scale, leading_type, scale_of
from fleet.description.vocabulary import (
    AREA_EDGES,
    AREA_ID,
    AREA_KIND,
    AREA_LABEL,
    FACTOR,
    REVISION,
    SENSOR_X,
    SENSOR_Y,
)
from fleet.engine.edge_areas import AREAS, edge_area_entries, edge_areas_from, has_edges
from fleet.jobs.areas import rectangle
from fleet.model.geometry import Outline, Point
from fleet.model.sheets import Area, AreaKind


def areas_from(schema: Schema, value: Json) -> tuple[Area, ...]:
    """Return the areas of a unit's area set; what is no area is left out."""
    if has_edges(schema):
        return edge_areas_from(schema, value)
    names = _names(schema)
    held = as_array(as_object(value).get(AREAS))
    read = [_area(as_object(entry), names, schema) for entry in held[:MAX_AREAS]]
    return tuple(area for area in read if area is not None)


def said_besides_areas(affordance: Affordance, value: Json) -> dict[str, str]:
    """Return in words what of an area set is neither one of its areas nor its revision."""
    schema, listed = affordance.schema, as_array(as_object(value).get(AREAS))
    kept = {f"{affordance.name}.{name}" for name in _revisions(schema, value)}
    if listed == []:
        kept.add(f"{affordance.name}.{AREAS}")
    keys: set[str] = set()
    for place, entry in enumerate(listed[:MAX_AREAS]):
        head = f"{affordance.name}.{AREAS}.{place}"
        held: list[Json] = [*[None] * place, entry]
        new = {area.key for area in areas_from(schema, {AREAS: held})} - keys
        # Of two areas with one id only one can be in a sheet.
        if entry is None or new:
            keys |= new
            kept |= {head, *(f"{head}.{path}" for path in _area_paths(schema, as_object(entry)))}
    said = everything_said(affordance, value)
    return {path: words for path, words in said.items() if path not in kept}


def _revisions(schema: Schema, value: Json) -> list[str]:
    if revision_from(schema, value) is None:
        return []
    members = members_of(schema).items()
    return [name for name, member in members if REVISION in types_of(member)][:1]


def _area_paths(schema: Schema, entry: dict[str, Json]) -> list[str]:
    """Return where within an entry the area itself stands."""
    names = _names(schema)
    typed = {AREA_ID: "id", AREA_KIND: "kind", AREA_LABEL: "label"}
    found = [names.get(type_iri, name) for type_iri, name in typed.items()]
    found += [names[edge] for edge in AREA_EDGES if edge in names]
    corners = ["min", "max"]
    if not all(_point(entry.get(corner), schema) for corner in corners):
        corners = [f"vertices.{at}" for at, _ in enumerate(as_array(entry.get("vertices")))]
    return [*found, "shape", *(f"{corner}.{axis}" for corner in corners for axis in "xy")]


def revision_from(schema: Schema, value: Json) -> int | None:
    """Return the revision of a unit's area set, None where it doesn't say."""
    for name, member in members_of(schema).items():
        said = as_object(value).get(name)
        if REVISION in types_of(member) and is_number(said) and isinstance(said, int):
            return said if 0 <= said <= MAX_REPORT_NUMBER else None
    return None


def area_set_value(schema: Schema, current: Json, areas: Sequence[Area]) -> Json:
    """Return the whole area set to write.

    Args:
        schema: the property's.
        current: what the unit holds; members that aren't read-only are kept.
        areas: outlines in the unit's view, mm.

    Raises:
        PlanError: the unit can't hold such areas.
    """
    kept = {
        name: said
        for name, said in as_object(current).items()
        if not as_object(as_object(schema.get("properties")).get(name)).get("readOnly")
    }
    if has_edges(schema):
        return kept | {AREAS: edge_area_entries(schema, current, areas)}
    names = _names(schema)
    return kept | {AREAS: [_entry(area, names, schema) for area in areas]}


def _items_schema(schema: Schema) -> Schema:
    return as_object(as_object(members_of(schema).get(AREAS)).get("items"))


def _names(schema: Schema) -> Mapping[str, str]:
    """Return the unit's own names of id, label and kind, by type."""
    return {
        leading_type(types_of(member)): name
        for name, member in members_of(_items_schema(schema)).items()
    }


def _area(entry: dict[str, Json], names: Mapping[str, str], schema: Schema) -> Area | None:
    key = entry.get(names.get(AREA_ID, "id"))
    kind = entry.get(names.get(AREA_KIND, "kind"), AreaKind.WATCH.value)
    outline = _outline(entry, schema)
    if not isinstance(key, str | int) or not _is_kind(kind) or not outline:
        return None
    label = entry.get(names.get(AREA_LABEL, "label"), key)
    return Area(plain_text(str(key)), plain_text(str(label)), AreaKind(str(kind)), outline)


def _is_kind(kind: Json) -> bool:
    return isinstance(kind, str) and kind in set(AreaKind)


def _outline(entry: dict[str, Json], schema: Schema) -> Outline:
    low, high = _point(entry.get("min"), schema), _point(entry.get("max"), schema)
    if low and high:
        return rectangle(low, high)
    corners = as_array(entry.get("vertices"))
    points = [_point(vertex, schema) for vertex in corners[: MAX_VERTICES + 1]]
    sound = all(points) and len(points) <= MAX_VERTICES
    return tuple(point for point in points if point) if sound else ()


def _point(value: Json, schema: Schema) -> Point | None:
    held = as_object(value)
    x, y = held.get("x"), held.get("y")
    if not (is_number(x) and is_number(y)):
        return None
    point = _ours(x, SENSOR_X, schema), _ours(y, SENSOR_Y, schema)
    return point if max(map(abs, point)) <= MAX_PLACE_MM else None


def _ours(value: Json, type_iri: str, schema: Schema) -> int:
    scale = _scale(type_iri, schema)
    return round(scale.to_ours(value)) if isinstance(value, int | float) else 0


def _theirs(value_mm: int, type_iri: str, schema: Schema) -> int | float:
    scale = _scale(type_iri, schema)
    return scale.to_theirs(value_mm, None, whole=True)


def _scale(type_iri: str, schema: Schema) -> Scale:
    """Return how coordinates become ours: by what the first corner of any shape says."""
    members = members_of(_items_schema(schema))
    corner = as_object(members.get("min")) or as_object(
        as_object(members.get("vertices")).get("items")
    )
    across = as_object(members_of(corner).get("x"))
    return scale_of(type_iri, across.get("unit"), across.get(FACTOR)) or UNCHANGED


def _entry(area: Area, names: Mapping[str, str], schema: Schema) -> dict[str, Json]:
    entry: dict[str, Json] = {
        names.get(AREA_ID, "id"): area.key,
        names.get(AREA_KIND, "kind"): area.kind.value,
    }
    if AREA_LABEL in names:
        entry[names[AREA_LABEL]] = area.label
    return entry | _shape(area.outline_mm, schema)


def _shape(outline_mm: Outline, schema: Schema) -> dict[str, Json]:
    xs, ys = [x for x, _ in outline_mm], [y for _, y in outline_mm]
    low, high = (min(xs), min(ys)), (max(xs), max(ys))
    if set(outline_mm) == set(rectangle(low, high)):
        return {
            "shape": "rectangle",
            "min": _corner(low, schema),
            "max": _corner(high, schema),
        }
    return {"shape": "polygon", "vertices": [_corner(point, schema) for point in outline_mm]}


def _corner(point: Point, schema: Schema) -> Json:
    return {
        "x": _theirs(point[0], SENSOR_X, schema),
        "y": _theirs(point[1], SENSOR_Y, schema),
    }

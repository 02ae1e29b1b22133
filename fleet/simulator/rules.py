"""What a unit takes as a value of its settings and areas, beyond what its schema says."""

from collections.abc import Iterable, Mapping
from typing import Any

from fleet.model.geometry import Outline
from fleet.model.sheets import Area, AreaKind
from fleet.simulator.names import AREA_ID, AREA_KIND, AREA_LABEL, AREAS

Rectangle = tuple[int, int, int, int]
"""Least x, least y, most x, most y, mm."""


def rectangle_of(outline: Outline) -> Rectangle | None:
    """Return an outline as an upright rectangle, None if it is none."""
    xs, ys = sorted({x for x, _ in outline}), sorted({y for _, y in outline})
    corners = {(x, y) for x in xs for y in ys}
    if len(outline) != 4 or len(xs) != 2 or len(ys) != 2 or set(outline) != corners:  # noqa: PLR2004 - a rectangle's counts
        return None
    return xs[0], ys[0], xs[1], ys[1]


def area_set_of(areas: Iterable[Area]) -> list[dict[str, Any]]:
    """Write areas as the unit's own value."""
    return [_written(area) for area in areas]


def areas_from(value: Mapping[str, Any]) -> tuple[Area, ...]:
    """Read the unit's own value; it has passed its schema and `area_complaints`."""
    return tuple(_read(item) for item in value[AREAS])


def area_complaints(value: Mapping[str, Any]) -> Iterable[str]:
    """Say what a schema can't: an area turned inside out, an id that stands twice."""
    seen: set[str] = set()
    for item in value[AREAS]:
        key = item[AREA_ID]
        if key in seen:
            yield f"area id {key!r} stands twice"
        seen.add(key)
        for axis in ("x", "y"):
            if item["min"][axis] >= item["max"][axis]:
                yield f"area {key!r}: min {axis} is not below max {axis}"


def _written(area: Area) -> dict[str, Any]:
    rectangle = rectangle_of(area.outline_mm)
    if rectangle is None:
        raise ValueError(f"area {area.key} is no upright rectangle")
    left, near, right, far = rectangle
    return {
        AREA_ID: area.key,
        AREA_LABEL: area.label,
        AREA_KIND: area.kind.value,
        "shape": "rectangle",
        "min": {"x": left, "y": near},
        "max": {"x": right, "y": far},
    }


def _read(item: Mapping[str, Any]) -> Area:
    left, near = int(item["min"]["x"]), int(item["min"]["y"])
    right, far = int(item["max"]["x"]), int(item["max"]["y"])
    outline = ((left, near), (right, near), (right, far), (left, far))
    label = item.get(AREA_LABEL, item[AREA_ID])
    return Area(item[AREA_ID], label, AreaKind(item[AREA_KIND]), outline)

"""The order in which the parts of a property are written, one by one.

Parts go in the description's order, but for areas that are four numbers: the edges of one area go
together, in the order that `edges` works out, after whatever else belongs to that area.
"""

from collections.abc import Mapping, Sequence

from fleet.description.assembly import member_of, parts_by_entry, same, schema_at
from fleet.description.documents import Json, as_object
from fleet.description.edges import EDGES, Rect, is_valid, order_of_writes
from fleet.description.parts import Part, Pointer
from fleet.description.schemas import types_of
from fleet.description.things import Affordance
from fleet.description.vocabulary import ABSENT, AREA_EDGES
from fleet.model.errors import PlanError


def in_order(
    affordance: Affordance, standing: Mapping[str, Json], changes: Mapping[str, Json]
) -> list[tuple[str, Json]]:
    """Return the writes in the order in which they are to go out.

    Args:
        affordance: the property with parts.
        standing: by the parts' names, what the unit holds.
        changes: by the parts' names, what it is to hold; in the unit's own unit.

    Raises:
        PlanError: an area would be left without width or depth, and that isn't the unit's word for none.
    """
    writes: dict[str, Json] = {}
    later: list[tuple[str, Json]] = []
    for entry, parts in parts_by_entry(affordance).items():
        edges = _edges(affordance, parts)
        rects = _rects(edges, standing, changes)
        if rects is None:
            continue
        if not is_valid(rects[1]) and not _is_absence(affordance, entry, edges, rects[1]):
            raise _no_size(affordance, entry, rects[1])
        later += [(edges[edge].name, value) for edge, value in order_of_writes(*rects)]
    placed = {name for name, _ in later}
    writes |= {name: value for name, value in changes.items() if name not in placed}
    return [*writes.items(), *later]


def _edges(affordance: Affordance, parts: Sequence[Part]) -> dict[str, Part]:
    """Return the four edges of an area; fewer where the entry is none."""
    found: dict[str, Part] = {}
    for part in parts:
        types = types_of(schema_at(affordance.schema, part.at))
        for edge, type_iri in zip(EDGES, AREA_EDGES, strict=True):
            if type_iri in types:
                found[edge] = part
    return found


def _rects(
    edges: Mapping[str, Part], standing: Mapping[str, Json], changes: Mapping[str, Json]
) -> tuple[Rect, Rect] | None:
    """Return the area as it stands and as it is wanted; None where it isn't whole or doesn't change."""
    names = {edge: part.name for edge, part in edges.items()}
    if len(edges) < len(EDGES) or not any(name in changes for name in names.values()):
        return None
    before = {edge: _number(standing.get(name)) for edge, name in names.items()}
    after = {edge: _number({**standing, **changes}.get(name)) for edge, name in names.items()}
    old = {edge: value for edge, value in before.items() if value is not None}
    new = {edge: value for edge, value in after.items() if value is not None}
    return (old, new) if len(old) == len(new) == len(EDGES) else None


def _number(value: Json) -> int | float | None:
    return value if isinstance(value, int | float) and not isinstance(value, bool) else None


def _is_absence(
    affordance: Affordance, entry: Pointer, edges: Mapping[str, Part], wanted: Rect
) -> bool:
    absent = as_object(schema_at(affordance.schema, entry).get(ABSENT))
    return all(same(absent.get(member_of(edges[edge])), wanted[edge]) for edge in EDGES)


def _no_size(affordance: Affordance, entry: Pointer, wanted: Rect) -> PlanError:
    return PlanError(
        f"place {entry[-1]} of {affordance.name} would be left without width or depth: "
        + ", ".join(f"{edge} {value}" for edge, value in wanted.items())
        + ".",
        stands="Nothing was sent.",
        next_step="Draw it larger.",
    )

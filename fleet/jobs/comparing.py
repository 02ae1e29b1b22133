"""The one comparison: planned, found and as left, held against each other item by item.

Build drift, pending settings, sign-off blockers and "what changed since" are all views of it. Rules, in
the order in which they are tried:

1. Nothing found: *unreadable*, unless nobody expects the item.
2. Neither planned nor left: *unknown*; there is nothing to hold it to.
3. Found agrees with planned: *same*.
4. Found agrees with what was left, and the plan has moved on: *to apply*. The same where the unit was
   never left, since then nobody's choice is overwritten.
5. The plan still says what was left (or says nothing), and the unit differs: *changed on site*.
6. All three differ: *conflict*.

Two outlines agree when each pair of coordinates differs by 50 mm or less; all else agrees exactly.
"""

from collections.abc import Iterable

from fleet.model.errors import PlanError
from fleet.model.sheets import (
    AREA_COORDINATE_TOLERANCE_MM,
    Comparison,
    Sheet,
    Standing,
    Value,
    outline_from_text,
)


def compare(planned: Sheet, found: Sheet | None, as_left: Sheet | None) -> tuple[Comparison, ...]:
    """Hold a unit's three sheets against each other.

    Args:
        planned: what should stand.
        found: what was last read; None where the unit was never read.
        as_left: what stood at sign-off; None where there was none.

    Returns:
        A comparison for each key of any sheet, in the order of the keys.
    """
    found, as_left = found or {}, as_left or {}
    keys = sorted({*planned, *found, *as_left})
    return tuple(
        _compare_item(key, planned.get(key), found.get(key), as_left.get(key)) for key in keys
    )


def agree(key: str, one: Value | None, other: Value | None) -> bool:
    """Say whether two values of an item are the same for the trade, tolerances included."""
    if one == other and type(one) is type(other):
        return True
    if one is None or other is None or not key.endswith(".outline"):
        return False
    return _outlines_agree(str(one), str(other))


def with_standing(
    comparisons: Iterable[Comparison], *standings: Standing
) -> tuple[Comparison, ...]:
    """Pick the comparisons that stand in one of these ways."""
    return tuple(item for item in comparisons if item.standing in standings)


def _compare_item(
    key: str, planned: Value | None, found: Value | None, as_left: Value | None
) -> Comparison:
    return Comparison(key, planned, found, as_left, _standing(key, planned, found, as_left))


def _standing(
    key: str, planned: Value | None, found: Value | None, as_left: Value | None
) -> Standing:
    if found is None:
        return Standing.UNREADABLE
    if planned is None and as_left is None:
        return Standing.UNKNOWN
    if agree(key, found, planned):
        return Standing.SAME
    if planned is None:
        return Standing.SAME if agree(key, found, as_left) else Standing.CHANGED_ON_SITE
    if as_left is None or agree(key, found, as_left):
        return Standing.TO_APPLY
    if agree(key, planned, as_left):
        return Standing.CHANGED_ON_SITE
    return Standing.CONFLICT


def _outlines_agree(one: str, other: str) -> bool:
    try:
        corners = list(zip(outline_from_text(one), outline_from_text(other), strict=True))
    except (PlanError, ValueError):
        return False
    return all(
        abs(a - b) <= AREA_COORDINATE_TOLERANCE_MM
        for (ax, ay), (bx, by) in corners
        for a, b in ((ax, bx), (ay, by))
    )

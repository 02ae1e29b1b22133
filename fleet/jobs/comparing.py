"""The one comparison: planned, found and as left, held against each other item by item.

Build drift, pending settings, sign-off blockers and "what changed since" are all views of it. Rules, in
the order in which they are tried:

1. Nothing found: *unreadable*; the unit doesn't hold the item, or it couldn't be read.
2. Neither planned nor left: *unknown*; there is nothing to hold it to.
3. Found agrees with planned: *same*.
4. The plan says nothing: *same* where found agrees with what was left, else *changed on site*.
5. Found agrees with what was left, and the plan has moved on: *to apply*. The same where the item was
   never left, since then nobody's choice is overwritten.
6. The plan still says what was left, and the unit differs: *changed on site*.
7. All three differ: *conflict*.

What agrees (`agree`): a coordinate of an area within 50 mm, corner by corner in their order; a mount
within 300 mm, its heading within 10° the short way round, its height within 50 mm; all else exactly, a
switch being no number. An area is known by its id alone: two that cover the same floor under different
ids are two areas.

Laws, held by tests over any sheets:

a. Agreeing is symmetric, and no chain: of three values, the outer two may differ where each agrees with
   the middle one. Found and planned that differ so, either within tolerance of what was left, are *to
   apply*: nobody on site moved it further than the tolerance.
b. Swapping found and planned keeps *same* where both say something, *conflict*, and *to apply* of what
   was never left; it turns *to apply* into *changed on site* and back, save for the case of law a, which
   stays. What only one of them says becomes *unreadable* from *unknown*, *same* or *changed on site*.
c. Every key of any sheet is answered once, in the order of keys, whatever the order within the sheets.
"""

from collections.abc import Iterable

from fleet.model.errors import PlanError
from fleet.model.sheets import (
    AREA_COORDINATE_TOLERANCE_MM,
    MOUNT_HEADING_TOLERANCE_MDEG,
    MOUNT_HEIGHT_TOLERANCE_MM,
    MOUNT_PLACE_TOLERANCE_MM,
    Comparison,
    Sheet,
    Standing,
    Value,
    mount_from_walk,
    outline_from_text,
)
from fleet.model.units import Unit

_SAME = Standing.SAME
_TURN_MDEG = 360_000
_TOLERANCES = {
    "mount.x_mm": MOUNT_PLACE_TOLERANCE_MM,
    "mount.y_mm": MOUNT_PLACE_TOLERANCE_MM,
    "mount.heading_mdeg": MOUNT_HEADING_TOLERANCE_MDEG,
    "mount.height_mm": MOUNT_HEIGHT_TOLERANCE_MM,
}


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
    wanted, there, left = planned.get, found.get, as_left.get
    compared = []
    for key in sorted({*planned, *found, *as_left}):
        one, now, then = wanted(key), there(key), left(key)
        # Most items of most units are the same to the letter: they are told apart without a call.
        same = now == one and now is not None and type(now) is type(one)
        standing = _SAME if same else _standing(key, one, now, then)
        compared.append(Comparison(key, one, now, then, standing))
    return tuple(compared)


def compare_unit(unit: Unit) -> tuple[Comparison, ...]:
    """Hold all that is known of a unit against each other, its mount among it."""
    found = dict(unit.found.sheet) if unit.found else {}
    if unit.mount is not None:
        found |= mount_from_walk(unit.mount)
    return compare(unit.planned, found, unit.as_left)


def agree(key: str, one: Value | None, other: Value | None) -> bool:
    """Say whether two values of an item are the same for the trade, tolerances included."""
    if one == other and type(one) is type(other):
        return True
    if one is None or other is None:
        return False
    if key in _TOLERANCES:
        return _numbers_agree(key, one, other)
    if key.startswith("areas.") and key.endswith(".outline"):
        return _outlines_agree(str(one), str(other))
    return False


def with_standing(
    comparisons: Iterable[Comparison], *standings: Standing
) -> tuple[Comparison, ...]:
    """Pick the comparisons that stand in one of these ways."""
    return tuple(item for item in comparisons if item.standing in standings)


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


def _numbers_agree(key: str, one: Value, other: Value) -> bool:
    if type(one) is not int or type(other) is not int:
        return False
    apart = abs(one - other)
    if key == "mount.heading_mdeg":
        apart %= _TURN_MDEG
        apart = min(apart, _TURN_MDEG - apart)
    return apart <= _TOLERANCES[key]


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

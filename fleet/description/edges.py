"""An area as four numbers, written one by one: in which order.

On the way no rectangle may be invalid: on each axis start < end, and start + gap ≤ end where the unit
wants a least size. Every number that is on the unit at any moment is either the old or the new value of
its edge, so each step keeps the unit's bounds if the old and the new area do.

1. The two axes don't meddle with each other, so one axis is enough to look at: (s, e) becomes (s', e'),
   both valid. Writing the start first is wrong only if s' + gap > e; writing the end first only if
   s + gap > e'. Were both wrong, e' < s + gap ≤ e; but e' ≥ s' + gap > e: a contradiction (with ≥ for >
   and a gap of 0 the strict order falls the same way). So a direct order always exists, and an edge that
   differs is written once: no order needs fewer writes.
2. An area that comes from nothing or goes (all four 0, as is common practice) is different: the last edge
   but one leaves three zeros whatever the order. There an empty rectangle (start = end) on the way can't be
   avoided, and does no harm; a reversed one (start > end) can be and is.
3. An area that stands reversed (somebody else's mistake) can't be valid before it is put right; the order
   with the fewest invalid steps is taken.
4. Among the orders that are left the one is taken whose steps cover the least floor besides the old
   and the new area: until the last write that floor is watched too.
"""

from collections.abc import Mapping, Sequence
from itertools import permutations

Number = int | float
Rect = Mapping[str, Number]
"""The four edges by the names below, in the unit's own unit."""

X_START, X_END, Y_START, Y_END = "x_start", "x_end", "y_start", "y_end"
EDGES = (X_START, X_END, Y_START, Y_END)
_AXES = ((X_START, X_END), (Y_START, Y_END))


def order_of_writes(
    standing: Rect, wanted: Rect, *, least_gap: Number = 0
) -> list[tuple[str, Number]]:
    """Return the writes that make one rectangle of another, in the best order.

    Args:
        standing: what the unit holds; all four edges.
        wanted: what it is to hold; all four edges.
        least_gap: the least that an end lies beyond its start, in the unit's unit.
    """
    changed = [edge for edge in EDGES if standing[edge] != wanted[edge]]
    best = min(permutations(changed), key=lambda order: _cost(order, standing, wanted, least_gap))
    return [(edge, wanted[edge]) for edge in best]


def is_valid(rect: Rect, least_gap: Number = 0) -> bool:
    """Say whether both ends lie far enough beyond their starts."""
    return all(
        rect[start] < rect[end] and rect[start] + least_gap <= rect[end] for start, end in _AXES
    )


def is_reversed(rect: Rect) -> bool:
    """Say whether an end lies before its start."""
    return any(rect[start] > rect[end] for start, end in _AXES)


def _cost(
    order: Sequence[str], standing: Rect, wanted: Rect, least_gap: Number
) -> tuple[int, int, Number]:
    """Weigh an order: reversed steps, other invalid steps, the floor covered on the way."""
    rect, steps = dict(standing), list[Rect]()
    for edge in order[:-1]:
        rect = {**rect, edge: wanted[edge]}
        steps.append(rect)
    return (
        sum(map(is_reversed, steps)),
        sum(not is_valid(step, least_gap) for step in steps),
        sum(map(_floor, steps)),
    )


def _floor(rect: Rect) -> Number:
    width, depth = (max(0, rect[end] - rect[start]) for start, end in _AXES)
    return width * depth

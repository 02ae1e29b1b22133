"""Which report belongs to which track: the cheapest assignment of all, not the nearest first."""

from collections.abc import Sequence

from scipy.optimize import linear_sum_assignment

UNPAIRABLE = 1e6
"""Dearer than any sum of pairs that may be: such a pair is never made."""


def assign(costs: Sequence[Sequence[float]]) -> list[int | None]:
    """Return for each row the column of the cheapest assignment, or None where it has no partner.

    As many rows as can be are paired; among such assignments the sum of costs is the least. Ties
    of one row or one column go to the first.

    Args:
        costs: a row for each track, a column for each report; `UNPAIRABLE` rules a pair out.
    """
    paired: list[int | None] = [None] * len(costs)
    if not costs or not costs[0]:
        return paired
    # One track or one report is the rule and needs no solver, which costs some 10 µs to call.
    if len(costs) == 1:
        row, column = 0, min(range(len(costs[0])), key=costs[0].__getitem__)
        pairs = [(row, column)]
    elif len(costs[0]) == 1:
        pairs = [(min(range(len(costs)), key=lambda row: costs[row][0]), 0)]
    else:
        rows, columns = linear_sum_assignment(costs)
        pairs = list(zip(rows.tolist(), columns.tolist(), strict=True))
    for row, column in pairs:
        if costs[row][column] < UNPAIRABLE:
            paired[row] = column
    return paired

"""Pairing of reports and tracks."""

import pytest

from fleet.numerics.assignment import UNPAIRABLE, assign


@pytest.mark.parametrize(
    ("costs", "paired"),
    [
        ([], []),
        ([[], []], [None, None]),
        ([[3.0, 1.0, 2.0]], [1]),
        ([[3.0], [1.0], [2.0]], [None, 0, None]),
        ([[UNPAIRABLE, UNPAIRABLE]], [None]),
        ([[UNPAIRABLE], [UNPAIRABLE]], [None, None]),
        ([[1.0, UNPAIRABLE], [UNPAIRABLE, UNPAIRABLE]], [0, None]),
        ([[1.0, 9.0, 9.0], [9.0, 9.0, 2.0]], [0, 2]),
        ([[5.0, 9.0], [1.0, 9.0], [9.0, 2.0]], [None, 0, 1]),
    ],
)
def test_each_row_gets_its_cheapest_free_column_or_none(costs, paired):
    assert assign(costs) == paired


def test_two_dear_pairs_come_before_one_cheap_pair():
    assert assign([[1.0, 8.0], [9.0, UNPAIRABLE]]) == [1, 0]

"""Three sheets of each of many units held against each other, beside a bare loop over the same values."""

import gc
import time

import pytest

from fleet.engine.files import read_plan
from fleet.jobs.comparing import compare
from fleet.shipped import resources

UNITS = 10_000
AT_MOST_OF_LINEAR = 1.5


def sheets(count):
    """As the demo house was left, over and over; each unit has one setting of its own."""
    plan = read_plan(resources() / "houses" / "marlpit")
    left = [dict(sheet) for sheet in plan.visits[-1].as_left.values()]
    for number in range(count):
        sheet = left[number % len(left)]
        yield dict(sheet), sheet | {"setting.hold_time_s": 30 + number % 3}, dict(sheet)


def bare(units):
    same = 0
    for planned, found, as_left in units:
        for key in planned.keys() | found.keys() | as_left.keys():
            same += planned.get(key) == found.get(key) == as_left.get(key)
    return same


def compared(units):
    return sum(len(compare(*unit)) for unit in units)


@pytest.mark.benchmark(group=f"sheets of {UNITS} units")
def test_values_alone(benchmark):
    benchmark.pedantic(bare, (list(sheets(UNITS)),), rounds=7, warmup_rounds=1)


@pytest.mark.benchmark(group=f"sheets of {UNITS} units")
def test_compare(benchmark):
    benchmark.extra_info["at_most"] = 3
    benchmark.pedantic(compared, (list(sheets(UNITS)),), rounds=7, warmup_rounds=1)


def shortest_s(count):
    units, taken_s = list(sheets(count)), []
    for _ in range(7):
        gc.collect()
        began_s = time.perf_counter()
        compared(units)
        taken_s.append(time.perf_counter() - began_s)
    return min(taken_s)


@pytest.mark.benchmark(group="ten times as many units")
def test_the_time_grows_with_the_units_and_no_faster(benchmark):
    few_s = shortest_s(UNITS // 10)
    many_s = benchmark.pedantic(shortest_s, (UNITS,), rounds=1)
    assert many_s <= AT_MOST_OF_LINEAR * 10 * few_s

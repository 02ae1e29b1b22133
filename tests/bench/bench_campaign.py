"""200 units × 1 MB over a line of 20 Mbit/s, limited in the simulator: no slower than the line allows.

The whole campaign counts, with its first waves one by one, reboots, checks and the journal; the dwell is 0.
The line alone needs 80 s; 1.3 times that is allowed.
"""

import argparse

import pytest

from tests.bench import campaign

UNITS, BYTES, BITS_A_S = 200, 1_000_000, 20_000_000


def over_the_line(run) -> int:
    options = argparse.Namespace(
        units=UNITS, fault_ppm=0, seed=1, speed=5.0, at_once=24, dwell=0, size=BYTES
    )
    options.bandwidth_bps = BITS_A_S
    return run(campaign.run(options))


@pytest.mark.benchmark(group=f"{UNITS} units × {BYTES // 10**6} MB over {BITS_A_S // 10**6} Mbit/s")
def test_a_campaign_is_as_fast_as_its_line(benchmark, run):
    assert benchmark.pedantic(lambda: over_the_line(run), rounds=1) == 0

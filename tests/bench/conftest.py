"""What the benches share: a loop to run in, peers in processes of their own, and the gate on ratios.

A pair of benches has one `group`; the one whose name ends in `alone` is the baseline. The other says by
`benchmark.extra_info["at_most"]` how many times the baseline it may cost. The medians decide.
"""

import asyncio
import subprocess
import sys

import pytest

from fleet.link.connections import keep_room_for_arrivals
from tests.architecture.source_rules import ROOT


@pytest.fixture
def run():
    keep_room_for_arrivals()  # for baselines too, so that none hangs on the seed of its hashes
    with asyncio.Runner() as runner:
        yield runner.run


@pytest.fixture
def peer():
    """Start a module in a process of its own; return the first line that it prints."""
    started = []

    def start(module, *arguments):
        process = subprocess.Popen(
            [sys.executable, "-m", module, *map(str, arguments)],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            encoding="utf-8",
        )
        started.append(process)
        return process.stdout.readline().strip()

    yield start
    for process in started:
        process.terminate()
        process.wait(timeout=10)
        process.stdout.close()


def pytest_terminal_summary(terminalreporter, exitstatus, config):
    for line in _ratios(config):
        terminalreporter.write_line(line)


def pytest_sessionfinish(session, exitstatus):
    if exitstatus == 0 and any("OVER" in line for line in _ratios(session.config)):
        session.exitstatus = 1


def _ratios(config):
    benches = config._benchmarksession.benchmarks
    medians = {bench.name: bench.stats.median for bench in benches}
    baselines = {
        bench.group: medians[bench.name] for bench in benches if bench.name.endswith("alone")
    }
    for bench in benches:
        at_most = bench.extra_info.get("at_most")
        if at_most and bench.group in baselines:
            ratio = medians[bench.name] / baselines[bench.group]
            verdict = "within" if ratio <= at_most else "OVER"
            yield f"{bench.group}: {ratio:.2f} × the baseline, {verdict} {at_most} ×"

"""The simulator as a process of its own."""

import asyncio
import json
import signal
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import msgspec
import pytest

from fleet.simulator.__main__ import main
from fleet.simulator.stage_client import StageClient
from fleet.simulator.truth import FirmwareFault
from tests.unit.simulator.small_house import PLAN, TRUTH

ROOT = Path(__file__).resolve().parents[3]
PATIENCE_S = 20


@pytest.fixture
def house(tmp_path):
    (tmp_path / "plan.json").write_bytes(msgspec.json.encode(PLAN))
    (tmp_path / "truth.json").write_bytes(msgspec.json.encode(TRUTH))
    return tmp_path


@contextmanager
def started(house, *more):
    command = [sys.executable, "-m", "fleet.simulator", "--house", str(house), "--no-mdns", *more]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe, cwd=ROOT) as process:
        try:
            yield process
        finally:
            process.kill()


def units_said(process) -> list[dict[str, str]]:
    return [json.loads(process.stdout.readline()) for _ in TRUTH.units]


def ended(process) -> tuple[int, bytes]:
    _, complaints = process.communicate(timeout=PATIENCE_S)
    return process.returncode, complaints


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_it_says_its_units_and_runs_until_it_is_told_to_stop(house, number):
    with started(house) as process:
        said = units_said(process)
        process.send_signal(number)
        assert ended(process) == (0, b"")
    assert [unit["serial"] for unit in said] == ["TR-1", "ST-2", "VI-3"]
    assert all(unit["url"].startswith("http://127.0.0.1:") for unit in said)


def test_it_ends_when_its_parent_lets_go(house):
    with started(house, "--with-parent") as process:
        units_said(process)
        process.stdin.close()
        process.stdin = None
        assert ended(process) == (0, b"")


def test_the_ready_file_says_where_units_and_stage_are(house):
    ready = house / "ready.json"
    with started(house, "--ready", str(ready), "--clock", "50") as process:
        said = units_said(process)
        file = json.loads(ready.read_text("utf-8"))
        assert file["units"] == said
        times = asyncio.run(walked(**file["stage"]))
        assert (times.done - times.started).total_seconds() == pytest.approx(1.0, abs=0.11)
        process.send_signal(signal.SIGTERM)
        assert ended(process) == (0, b"")


def test_who_was_given_a_firmware_fault_is_said(house):
    with started(house, "--firmware-fault-ppm", "333333", "--bandwidth-bps", "20000000") as process:
        faults = [unit["firmware_fault"] for unit in units_said(process)]
        process.send_signal(signal.SIGTERM)
        assert ended(process) == (0, b"")
    assert sum(fault != "" for fault in faults) == 1
    assert set(faults) <= {"", *FirmwareFault}


@pytest.mark.parametrize(
    "words",
    [
        ("--bandwidth-bps", "-1"),
        ("--bandwidth-bps", "fast"),
        ("--firmware-fault-ppm", "1000001"),
    ],
)
def test_a_share_or_a_bandwidth_that_cannot_be_is_a_mistake_of_usage(words):
    with pytest.raises(SystemExit) as ending:
        main(words)
    assert ending.value.code == 2


async def walked(host, port):
    async with StageClient(host, port) as stage:
        return await stage.walk("a", "ground", [((0, 0), 0), ((1200, 0), 0)])


def test_a_house_that_is_not_there_is_said_and_ends_with_three(tmp_path, capsys):
    assert main(["--house", str(tmp_path)]) == 3
    assert "plan.json" in capsys.readouterr().err


@pytest.mark.parametrize("speed", ["0", "-1", "1001"])
def test_a_clock_that_cannot_be_is_a_mistake_of_usage(speed):
    with pytest.raises(SystemExit) as ending:
        main(["--clock", speed])
    assert ending.value.code == 2

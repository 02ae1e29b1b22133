"""The verbs that talk to units, against the simulated house as a process of its own."""

import contextlib
import json
import subprocess
import sys

import pytest

from tests.features.whole_job import walkdown

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def house():
    """Serial and address of each unit of the demo house while it runs."""
    command = [sys.executable, "-m", "ui.start", "simulate", "--seed", "3"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    with contextlib.ExitStack() as stack:
        stack.callback(process.wait)
        stack.callback(process.terminate)
        stack.callback(process.stdout.close)
        yield [json.loads(process.stdout.readline()) for _ in range(14)]


def test_simulate_says_a_line_a_unit(house):
    assert len({unit["serial"] for unit in house}) == 14
    assert all(unit["url"].startswith("http://127.0.0.1:") for unit in house)


def test_scan_hears_every_unit_of_the_house(house):
    done = walkdown("scan", "--seconds", "3", "--interface", "127.0.0.1", "--json")
    heard = {(unit["serial"], unit["url"]) for unit in json.loads(done.stdout)}
    assert {(unit["serial"], unit["url"]) for unit in house} <= heard


def test_a_unit_is_read_in_the_documented_form(house):
    done = walkdown("unit", house[0]["url"], "--json")
    read = json.loads(done.stdout)
    assert list(read) == [
        "serial",
        "hardware_revision",
        "module_type",
        "build",
        "capabilities",
        "settings",
        "area_set",
        "access",
        "other",
        "read_at",
        "missing",
    ]
    assert read["serial"] == house[0]["serial"]
    assert read["access"] == "open"
    assert set(read["build"]) == {"version", "build_id", "image_digest"}
    assert isinstance(read["settings"]["hold_time_s"], int)
    assert set(read["area_set"]) == {"revision", "areas"}


def test_a_unit_is_read_in_words_and_nothing_that_it_says_is_dropped(house):
    said = walkdown("unit", house[0]["url"]).stdout
    for words in ("setting.hold_time_s", "signal", "dBm", "lux", "m°C", "mV"):
        assert words in said


def test_an_address_where_nobody_answers_is_said_and_ends_with_3():
    done = walkdown("unit", "http://127.0.0.1:9/")
    assert done.returncode == 3
    assert done.stdout == ""
    assert "nothing answers at its address" in done.stderr


def test_what_is_no_address_is_said_and_ends_with_3():
    done = walkdown("unit", "ftp://x")
    assert done.returncode == 3
    assert "no address of a unit" in done.stderr


def test_a_wrong_command_line_ends_with_2():
    assert walkdown("scan", "--no-such-option").returncode == 2


def test_a_site_is_started_once_and_its_jobs_are_told(tmp_path):
    data = ["--data", tmp_path / "data"]
    assert walkdown("jobs", *data).returncode == 3
    house = "resources/houses/marlpit"
    assert walkdown("site", "add", house, *data).returncode == 0
    again = walkdown("site", "add", house, *data)
    assert again.returncode == 3
    told = walkdown("jobs", *data)
    assert told.returncode == 1
    assert "Sign-off: 10" in told.stdout


def test_a_plan_that_points_to_nothing_is_refused_with_the_reason(tmp_path):
    plan = {
        "site": {"name": "x"},
        "floors": [],
        "rooms": [
            {
                "key": "a",
                "name": "A",
                "floor": "nowhere",
                "kind": "office",
                "outline_mm": [[0, 0], [1, 0], [1, 1]],
            }
        ],
    }
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(plan), encoding="utf-8")
    done = walkdown("site", "add", path, "--data", tmp_path / "data")
    assert done.returncode == 3
    assert "nowhere" in done.stderr
    assert str(path) in done.stderr

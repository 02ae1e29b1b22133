"""The whole job on simulated houses: everything that is wrong is found, and nothing that isn't."""

import json
import shutil
import subprocess

import pytest
from jsonschema import Draft202012Validator

from fleet.shipped import resources
from tests.features.whole_job import Jobs, expected_kinds, walkdown
from tests.houses.generator import make_house, write_house
from tests.houses.marlpit import EXPECTED

pytestmark = pytest.mark.slow
OPENSSL = shutil.which("openssl")


SEEDS = (11, 12, 13, 14, 15)
FAULTLESS = 21


@pytest.fixture(scope="module")
def runs(tmp_path_factory):
    """All runs of the job by name, begun in this order."""
    folder = tmp_path_factory.mktemp("jobs")
    words = {"demo": ("--seed", "1"), "again": ("--seed", "1"), "other": ("--seed", "2")}
    for seed in (*SEEDS, FAULTLESS):
        plan, truth, _ = make_house(seed, faults=seed != FAULTLESS)
        write_house(folder / f"house {seed}", plan, truth)
        words[str(seed)] = ("--house", str(folder / f"house {seed}"))
    jobs = Jobs(folder, words)
    yield jobs
    jobs.stop()


@pytest.fixture(scope="module")
def marlpit(runs):
    """The demo house with seed 1, for the tests of what its run left."""
    return runs.result("demo")


def test_the_demo_house_hides_nothing_and_nothing_false_is_found(marlpit):
    assert marlpit.code == 0, marlpit.printed
    assert marlpit.kinds == expected_kinds(EXPECTED)
    assert len({kind for _, _, kind in marlpit.kinds}) >= 9


def test_findings_hold_to_their_schema(marlpit):
    text = (resources() / "schemas" / "findings.schema.json").read_text(encoding="utf-8")
    Draft202012Validator(json.loads(text)).validate(marlpit.findings)


def test_no_report_is_lost_but_those_that_the_house_drops(marlpit):
    assert "1 units lost numbered reports, 0 units fell silent" in marlpit.printed


def test_another_seed_finds_the_same_and_the_same_seed_the_same_figures(marlpit, runs):
    other, again = runs.result("other"), runs.result("again")
    assert other.kinds == again.kinds == marlpit.kinds
    for one, two in zip(marlpit.findings, again.findings, strict=True):
        for name, value in one["evidence"].items():
            if isinstance(value, int) and not isinstance(value, bool):
                assert two["evidence"][name] == pytest.approx(value, rel=0.05), (one, name)
            else:
                assert two["evidence"][name] == value


@pytest.mark.parametrize("seed", SEEDS)
def test_every_fault_moved_elsewhere_is_found_there(seed, runs):
    *_, hidden = make_house(seed)
    job = runs.result(str(seed))
    assert job.code == 0, job.printed
    assert job.kinds == expected_kinds(hidden)


def test_a_faultless_house_gives_no_finding(runs):
    job = runs.result(str(FAULTLESS))
    assert job.code == 0, job.printed
    assert job.findings == []


def openssl_verifies(folder):
    words = ["pkeyutl", "-verify", "-pubin", "-inkey", "key.pem", "-rawin", "-in", "record.json"]
    done = subprocess.run(
        [OPENSSL, *words, "-sigfile", "record.sig"], cwd=folder, capture_output=True, check=False
    )
    return done.returncode == 0


@pytest.mark.skipif(
    OPENSSL is None, reason="openssl, which anybody may check a record with, is missing"
)
def test_the_record_is_checked_by_openssl_and_by_us_until_a_digit_is_changed(marlpit, tmp_path):
    folder = tmp_path / "record"
    shutil.copytree(marlpit.out / "record", folder)
    assert openssl_verifies(folder)
    assert walkdown("check", folder).returncode == 0
    path = folder / "record.json"
    path.write_bytes(path.read_bytes().replace(b"2026", b"2025", 1))
    assert not openssl_verifies(folder)
    checked = walkdown("check", folder)
    assert checked.returncode == 1
    assert "DOES NOT MATCH" in checked.stdout
    assert "signature" in checked.stdout


def test_the_inventory_that_the_job_left_tells_its_jobs(marlpit):
    data = marlpit.out / "inventory"
    told = walkdown("jobs", "--json", "--data", data)
    assert told.returncode == 1
    jobs = json.loads(told.stdout)
    assert {job["group"] for job in jobs} == {"builds", "sign-off", "snags"}
    assert "Marlpit House (demo, invented)" in walkdown("jobs", "--data", data).stdout


def test_a_folder_that_holds_something_is_left_alone(tmp_path):
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    done = walkdown("demo", "--headless", "--out", tmp_path)
    assert done.returncode == 3
    assert "not empty" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]

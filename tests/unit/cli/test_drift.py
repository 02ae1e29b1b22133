import argparse
import json
from dataclasses import replace
from datetime import timedelta

import pytest

from fleet.cli import drift
from fleet.cli.drift_words import _age
from fleet.cli.saying import DONE, REPORTED, USAGE
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.model.house import ApprovedBuild, Match, MatchWord, ModuleType
from fleet.shelf.trust import KEY_TRUSTED
from tests.inventories import NOON, CountingClock, reading, small_plan
from tests.shelves import CLASS, IMAGE, OLDER, VENDOR, image, signed_shelf

FOUND = {
    "hardware.revision": "R3",
    "hardware.vendor_id": VENDOR,
    "hardware.class_id": CLASS,
    "module.type": "tracking",
    "module.firmware": "5.0",
    "build.version": "2.0.4",
    "build.id": "b-204",
    "build.sequence": 20,
}
NEW = FOUND | {"build.version": "2.1.3", "build.id": "b-213", "build.sequence": 30}
BUILD = ApprovedBuild("R3", ModuleType.TRACKING, "2.1.3", "b-213", 30, "", ("2.0.4",))
MATCH = Match("R3", ModuleType.TRACKING, "4.9", "2.1.3", MatchWord.BLOCKED)


def plan(name):
    whole = small_plan(name)
    units = tuple(
        replace(unit, hardware_revision="R3", serial=f"{name}-{unit.label}") for unit in whole.units
    )
    return replace(whole, units=units, approved_builds=(BUILD,), matches=(MATCH,))


@pytest.fixture
def data(tmp_path):
    """Two sites: at One a unit is behind, one current, one never read; at Two one is behind and blocked."""
    with open_inventory(tmp_path / "data", CountingClock()) as inventory:
        inventory.add_site(plan("One"))
        inventory.save_reading(reading("One-U1", sheet=FOUND))
        inventory.save_reading(reading("One-U2", sheet=NEW))
        inventory.add_site(plan("Two"))
        inventory.choose_site("Two")
        inventory.save_reading(reading("Two-U1", sheet=FOUND | {"module.firmware": "4.9"}))
        inventory.save_reading(reading("Two-U3", sheet=FOUND | {"module.firmware": "4.8"}))
        inventory.choose_site("One")
    return tmp_path / "data"


@pytest.fixture
def shelf(tmp_path, data):
    path, key = signed_shelf(tmp_path, OLDER, IMAGE)
    with open_inventory(data, CountingClock()) as inventory:
        inventory.append(KEY_TRUSTED, key, {"by": "Ann Other", "why": "asked"})
    return path


@pytest.fixture
def walkdown(data, capsys, monkeypatch):
    monkeypatch.setattr(drift, "real_clock", CountingClock)

    def run(*words):
        parser = argparse.ArgumentParser()
        drift.add_arguments(parser)
        parser.set_defaults(data=data)
        code = drift.run(parser.parse_args([str(word) for word in words]))
        said = capsys.readouterr()
        return code, said.out, said.err

    return run


def test_the_current_sites_units_are_told_with_the_age_of_their_readings(walkdown):
    code, out, _ = walkdown()
    assert code == REPORTED
    assert out.splitlines() == [
        "One (demo, invented): 1 behind, 1 current, 1 unknown build",
        "  behind by 1    read 0 min ago  Hall, U1: runs 2.0.4, behind the approved 2.1.3: 1 build",
        "  current        read 0 min ago  Loft, U2: runs the approved 2.1.3",
        "  unknown build  never read      Loft, U3: it was never read",
    ]


def test_all_sites_are_told_when_asked(walkdown):
    _, out, _ = walkdown("--all-sites", "--json")
    sites = json.loads(out)
    assert [site["site"] for site in sites] == ["One", "Two"]
    assert [unit["stands"] for unit in sites[1]["units"]] == ["behind", "unknown build", "behind"]
    unit = sites[0]["units"][0]
    assert unit == {
        "unit": "U1",
        "serial": "One-U1",
        "room": "Hall",
        "version": "2.0.4",
        "read_at": "2026-11-25T12:00:00.000Z",
        "stands": "behind",
        "behind": 1,
        "approved": "2.1.3",
        "reasons": ["runs 2.0.4, behind the approved 2.1.3: 1 build"],
        "age_s": unit["age_s"],
        "support_ended": None,
    }
    assert unit["age_s"] >= 0


def test_a_shelf_tells_when_support_ended(walkdown, shelf):
    _, out, _ = walkdown("--shelf", shelf)
    assert "1 build; its maker mended 2.0.4 until 2026-10-01" in out


def test_a_house_without_drift_ends_with_0(walkdown, data):
    with open_inventory(data, CountingClock()) as inventory:
        for label in ("U1", "U3"):
            inventory.save_reading(reading(f"One-{label}", sheet=NEW))
    assert walkdown()[0] == DONE


def test_the_houses_to_visit_for_a_build_are_told_with_what_a_visit_takes(walkdown, shelf):
    code, out, _ = walkdown("--all-sites", "--image", "2.1.3", "--shelf", shelf)
    assert code == REPORTED
    lines = out.splitlines()
    assert lines[0] == (
        "2.1.3 for R3, R4; tracking, static: 2 to visit; minutes are a rule of thumb (common practice, "
        "no source), without travel"
    )
    assert lines[1].startswith(
        "  One (demo, invented): about 38 min: 1 to update, 0 wait for a word"
    )
    assert lines[2] == "    U1 in Hall"
    assert lines[3] == "    U3 in Loft was never read"
    assert "0 to update, 1 wait for a word" in lines[4]
    assert "U3: nobody has vouched for 2.1.3" in lines[5]
    assert "U1: 2.1.3 on hardware R3" in lines[6]
    assert lines[6].endswith("is blocked: the plan blocks it")


def test_visits_as_json_take_the_pace_that_is_given(walkdown, shelf):
    pace = ("--arrive-min", 0, "--unit-min", 7, "--room-min", 0)
    _, out, _ = walkdown("--image", "2.1.3", "--shelf", shelf, "--json", *pace)
    (document,) = json.loads(out)
    assert document["image"]["sequence"] == 30
    (visit,) = document["visits"]
    assert (visit["site"], visit["minutes"]) == ("One", 7)
    assert [unit["unit"] for unit in visit["to_update"]] == ["U1"]
    assert [unit["unit"] for unit in visit["unread"]] == ["U3"]


def test_visits_as_json_say_what_waits_for_a_word_and_what_is_left(walkdown, shelf):
    _, out, _ = walkdown("--all-sites", "--image", "2.1.3", "--shelf", shelf, "--json")
    visit = json.loads(out)[0]["visits"][1]
    (waits,), (left,) = visit["needs_word"], visit["left"]
    assert (waits["unit"], "nobody has vouched" in waits["because"]) == ("U3", True)
    assert (left["unit"], left["because"].endswith("the plan blocks it")) == ("U1", True)


def test_a_build_that_nobody_needs_ends_with_0(walkdown, tmp_path, data):
    path, key = signed_shelf(tmp_path / "other", image(hardware_revisions=("R9",)))
    with open_inventory(data, CountingClock()) as inventory:
        inventory.append(KEY_TRUSTED, key, {"by": "Ann Other", "why": "asked"})
        inventory.save_reading(reading("One-U3", sheet=FOUND))
    code, out, _ = walkdown("--image", "2.1.3", "--shelf", path)
    assert (code, out) == (DONE, "2.1.3 for R9; tracking, static: no house to visit\n")


def test_a_build_that_isnt_on_the_shelf_is_said(walkdown, shelf):
    with pytest.raises(PlanError, match="not on the shelf") as caught:
        walkdown("--image", "9.9.9", "--shelf", shelf)
    assert caught.value.next_step == "Choose one of: 2.0.4, 2.1.3."


def test_a_build_without_its_shelf_is_a_matter_of_usage(walkdown):
    code, out, error = walkdown("--image", "2.1.3")
    assert (code, out) == (USAGE, "")
    assert "--shelf SHELF" in error


def test_a_shelf_that_nobody_trusts_tells_nothing(walkdown, tmp_path):
    path, _ = signed_shelf(tmp_path, IMAGE)
    with pytest.raises(PlanError, match="nobody here trusts"):
        walkdown("--shelf", path)


@pytest.mark.parametrize("minutes", ["-1", "1.5", "99999", "x"])
def test_minutes_are_whole_numbers(walkdown, minutes):
    with pytest.raises(SystemExit):
        walkdown(f"--unit-min={minutes}")


def test_without_a_site_the_next_step_is_said(tmp_path, walkdown, monkeypatch, data):
    for path in data.iterdir():
        path.unlink()
    with pytest.raises(PlanError, match="no site yet"):
        walkdown()


def test_a_reading_that_is_dated_ahead_is_not_shown_as_fresh(walkdown, data):
    with open_inventory(data, CountingClock()) as inventory:
        inventory.save_reading(reading("One-U1", NOON + timedelta(days=1), sheet=FOUND))
    _, out, _ = walkdown()
    assert "behind by 1    read later than now" in out


def test_ages_are_told_in_the_unit_that_a_person_would_use():
    ages = [_age(age_s) for age_s in (-5, 59, 7_199, 7_200, 172_799, 172_800)]
    assert ages == ["0 min", "0 min", "119 min", "2 h", "47 h", "2 days"]

"""The verb `swap` from end to end: shown, refused, done, and what it leaves to do is written."""

import json
from dataclasses import replace

import pytest

from fleet.engine.evidence_store import load_lap
from fleet.engine.house_state import build_house_state
from fleet.inventory.inventory import open_inventory
from tests.faults.applied_house import HOLD, site
from tests.faults.walked_units import FIRST
from tests.inventories import NOON, CountingClock, line, reading, small_plan

OLD = "OLD-1"
SAID = {
    "hardware.revision": "H4",
    "module.type": "tracking",
    "module.firmware": "5.2",
    HOLD: 20,
}
WORDS = ("--yes", "--by", "A. Fitter", "--why", "it stayed away")


def plan():
    """U1 is to hold 45 s and is allotted a unit that nobody meets any more."""
    base = small_plan("Invented Lodge")
    settings = {"hold_time_s": 45, "a_word": 7}
    return replace(base, units=(line("U1", OLD, settings=settings, areas=()), *base.units[1:]))


@pytest.fixture
def data(tmp_path):
    folder = tmp_path / "data"
    with open_inventory(folder, CountingClock()) as inventory:
        inventory.add_site(plan())
        inventory.save_reading(reading(OLD, sheet=SAID))
    return folder


def rows_of(data):
    with open_inventory(data, CountingClock()) as inventory:
        return [row.what for row in inventory.journal()]


def house_of(data):
    with open_inventory(data, CountingClock()) as inventory:
        return build_house_state(inventory, load_lap(inventory), {}, NOON)


async def test_a_dry_run_says_what_it_comes_to_and_changes_nothing(tmp_path, data):
    async with site(tmp_path) as at:
        url = ("--address", at.urls[FIRST])
        met = await at.here("swap", "U1", "--to", FIRST, "--dry-run", *url)
        before = rows_of(data)
        shown = await at.here("swap", "U1", "--to", FIRST, "--dry-run")
        said = await at.here("swap", "U1", "--to", FIRST, "--dry-run", "--json")
        assert at.house.first.puts == []
    assert (met.code, shown.code, said.code) == (1, 1, 1)
    assert rows_of(data) == before
    assert f"U1: unit replaced: {OLD} → {FIRST}, read " in shown.out
    heads = [text.split(":")[0] for text in shown.out.splitlines()[1:] if not text.startswith(" ")]
    assert heads == ["Carries over", "Dropped", "Brought along", "Lapses", "To do and to decide"]
    assert "setting.a_word 7: the new one doesn't hold such a setting" in shown.out
    assert "Hall: the sign-off by Invented Client, client, of 2026-09-03" in shown.out
    assert "soak, hall, 720 min" in shown.out
    document = json.loads(said.out)
    assert (document["serial_before"], document["serial"]) == (OLD, FIRST)
    assert {row["key"]: row["fate"] for row in document["rows"]}["setting.a_word"] == "dropped"


async def test_a_swap_is_done_and_apply_writes_to_the_new_unit(tmp_path, data):
    async with site(tmp_path) as at:
        url = ("--address", at.urls[FIRST])
        done = await at.here("swap", "U1", "--to", FIRST, *WORDS, *url)
        assert done.code == 1
        assert "U1: unit replaced, journal row" in done.out
        assert at.house.first.puts == []
        written = await at.here("apply", "U1", "--yes", *url)
        assert f"U1 settings: done: read back: {HOLD} 45" in written.out
        assert at.house.first.held["settings"]["hold"] == 45
    house = house_of(data)
    assert house.units[FIRST].line.label == "U1"
    assert house.plan.visits[-1].soaks == ()
    with open_inventory(data, CountingClock()) as inventory:
        (row,) = inventory.journal_of("swapped")
        assert (row.detail["by"], row.detail["why"]) == ("A. Fitter", "it stayed away")
        assert inventory.first_broken_row() is None
        assert [sheet.sheet for sheet in inventory.sheets_of_unit(OLD)][-1] == SAID


async def test_another_module_in_the_same_unit_is_seen_listed_and_swapped(tmp_path, data):
    with open_inventory(data, CountingClock()) as inventory:
        inventory.save_as_left(OLD, SAID, NOON, why="signed")
        static = SAID | {"module.type": "static"}
        later = NOON.replace(hour=14)
        inventory.save_reading(reading(OLD, later, sheet=static, capabilities={"max_areas": 0}))
    async with site(tmp_path) as at:
        listed = await at.here("swap")
        assert (listed.code, "U1: module replaced? answers with a static" in listed.out) == (
            1,
            True,
        )
        done = await at.here("swap", "U1", *WORDS)
        assert (done.code, "U1: module replaced, journal row" in done.out) == (1, True)
        again = await at.here("swap")
    assert (again.code, "Nothing looks like a swap" in again.out) == (0, True)


async def test_a_stranger_in_a_silent_units_place_is_found_without_its_serial(tmp_path, data):
    with open_inventory(data, CountingClock()) as inventory:
        later = NOON.replace(day=27)
        inventory.save_reading(reading("S-3", later, sheet=SAID))
        inventory.save_reading(reading("N-1", later, sheet=SAID))
    async with site(tmp_path) as at:
        done = await at.here("swap", "U1", "--mounted", "upright", "--heading", "90", *WORDS)
        assert (done.code, f"{OLD} → N-1" in done.out) == (1, True)
        assert house_of(data).units["N-1"].line.pose.upside_down is False
        with open_inventory(data, CountingClock()) as inventory:
            for serial in ("N-2", "N-3"):
                inventory.save_reading(reading(serial, NOON.replace(day=29), sheet=SAID))
        two = await at.here("swap", "U1", *WORDS)
        assert (two.code, "2 units may have taken its place: N-2, N-3" in two.err) == (3, True)


async def test_what_is_missing_or_wrong_ends_with_2_or_3_and_changes_nothing(tmp_path, data):
    before = rows_of(data)
    async with site(tmp_path) as at:
        unasked = await at.here("swap", "U1", "--to", "N-1", "--why", "x")
        without = await at.here("swap", "U1", "--to", "N-1", "--yes")
        both = await at.here("swap", "U1", "--to", "N-1", "--module", *WORDS)
        unread = await at.here("swap", "U1", "--to", "N-1", *WORDS)
        unknown = await at.here("swap", "U9", "--to", "N-1", *WORDS)
        taken = await at.here("swap", "U1", "--to", "S-3", *WORDS)
    assert [done.code for done in (unasked, without, both)] == [2, 2, 2]
    assert [done.code for done in (unread, unknown, taken)] == [3, 3, 3]
    assert "nobody is at the terminal" in unasked.err
    assert "name --why" in without.err
    assert "never read" in unread.err
    assert "no such label" in unknown.err
    assert "S-3 stands on U3" in taken.err
    assert rows_of(data) == before


async def test_a_swap_waits_for_the_one_who_writes(tmp_path, data):
    with open_inventory(data, CountingClock()) as writing:
        writing.save_reading(reading("N-1", sheet=SAID))
        async with site(tmp_path) as at:
            done = await at.here("swap", "U1", "--to", "N-1", *WORDS)
    assert (done.code, "nothing can be written" in done.err) == (3, True)
    assert house_of(data).units[OLD].line.label == "U1"

"""Builds over every site: what was read last, of each site its own."""

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import event

from fleet.inventory.inventory import open_inventory
from fleet.model.all_sites import SiteUnit
from tests.inventories import NOON, CountingClock, reading, small_plan

SHEET = {
    "hardware.revision": "H4",
    "module.type": "tracking",
    "build.version": "2.0.4",
    "build.sequence": 20,
    "setting.hold_time_s": 30,
    "areas.1.label": "Bed",
}


@pytest.fixture
def inventory(tmp_path):
    with open_inventory(tmp_path / "data", CountingClock()) as opened:
        yield opened


def test_an_inventory_without_sites_has_none(inventory):
    assert inventory.all_sites() == ()


def test_each_site_has_its_own_units_builds_and_matches(inventory):
    plan = small_plan("One")
    inventory.add_site(plan)
    inventory.save_reading(reading("S-1", sheet=SHEET))
    inventory.add_site(replace(small_plan("Two"), approved_builds=(), matches=()))
    inventory.choose_site("Two")
    one, two = inventory.all_sites()
    assert (one.name, two.name) == ("One", "Two")
    assert (one.approved_builds, one.matches) == (plan.approved_builds, plan.matches)
    assert (two.approved_builds, two.matches) == ((), ())
    assert [unit.label for unit in one.units] == ["U1", "U2", "U3"]
    assert one.units[0].read_at == NOON
    assert [unit.read_at for unit in two.units] == [None, None, None]


def test_a_unit_has_the_items_of_its_build_from_its_last_reading(inventory):
    inventory.add_site(small_plan())
    later = NOON + timedelta(hours=1)
    inventory.save_reading(reading("S-1", sheet=SHEET | {"build.version": "1.8.0"}))
    inventory.save_reading(reading("S-1", later, sheet=SHEET, other={"class id": "c"}))
    unit = inventory.all_sites()[0].units[0]
    of_builds = {key: value for key, value in SHEET.items() if key[0] in "hmb"}
    assert unit == SiteUnit(
        "U1", "S-1", "Hall", "H4", "tracking", of_builds, {"class id": "c"}, later
    )


def test_a_line_without_a_serial_and_a_unit_that_was_never_read_stand_there_all_the_same(inventory):
    inventory.add_site(small_plan())
    inventory.save_reading(reading("S-stray", sheet=SHEET))
    units = inventory.all_sites()[0].units
    assert [(unit.serial, unit.room, unit.found) for unit in units] == [
        ("S-1", "Hall", {}),
        ("", "Loft", {}),
        ("S-3", "Loft", {}),
    ]


def test_many_sites_take_as_many_queries_as_one(inventory):
    seen = []
    event.listen(
        inventory._file.engine, "before_cursor_execute", lambda *words: seen.append(words[2])
    )
    counts = []
    for number in range(20):
        inventory.add_site(small_plan(f"Site {number}"))
        seen.clear()
        inventory.all_sites()
        counts.append(len(seen))
    assert counts[-1] == counts[0] > 0


def test_rows_of_the_journal_are_found_by_their_kind(inventory):
    inventory.add_site(small_plan())
    inventory.append("match-said", "a", {"by": "x"})
    inventory.append("read", "b", {})
    inventory.append("match-said", "c", {})
    assert [row.subject for row in inventory.journal_of("match-said")] == ["a", "c"]
    assert inventory.journal_of("match-said", "read") == inventory.journal()[-3:]
    assert inventory.journal_of() == ()

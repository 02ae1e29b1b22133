import itertools
import json
import stat
from dataclasses import replace

import pytest

from fleet.cli.clocks import real_clock
from fleet.engine.files import read_plan
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import InventoryError, PlanError
from fleet.model.house import Signature
from fleet.model.journal import StepState, WriteStep
from fleet.model.units import Reading, Sighting
from fleet.shipped import resources
from tests.unit.jobs.invented import LINE, PLAN, READ_AT

MARLPIT = read_plan(resources() / "houses" / "marlpit")
READING = Reading("s-1", "http://127.0.0.1/td", "Den unit", {"module.type": "tracking"}, READ_AT)
STEP = WriteStep(
    "s-1", "U01", "http://127.0.0.1/td", "settings", {"setting.x": 2}, {"setting.x": 1}
)


@pytest.fixture
def inventory(tmp_path):
    with open_inventory(tmp_path, real_clock()) as opened:
        opened.add_site(PLAN)
        yield opened


def test_a_plan_comes_back_as_it_went_in(tmp_path):
    with open_inventory(tmp_path, real_clock()) as opened:
        opened.add_site(MARLPIT)
        assert opened.plan() == MARLPIT
        assert opened.site_name == "Marlpit House"
        left = opened.as_left()
        assert len(left) == 14


def test_what_was_written_is_there_after_closing(tmp_path):
    clock = real_clock()
    with open_inventory(tmp_path, clock) as opened:
        opened.add_site(PLAN)
        opened.save_reading(READING)
        opened.save_sighting("s-1", Sighting("den", READING.url, READ_AT, "den.local"))
    with open_inventory(tmp_path, clock) as opened:
        assert opened.readings() == {"s-1": READING}
        assert opened.sightings()["s-1"].host == "den.local"


def test_the_file_is_its_owners_alone(tmp_path, inventory):
    path = tmp_path / "inventory.sqlite3"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_site_of_the_same_name_is_refused(inventory):
    with pytest.raises(PlanError):
        inventory.add_site(PLAN)


def test_the_latest_reading_counts(inventory):
    inventory.save_reading(READING)
    later = replace(READING, sheet={"module.type": "static"})
    inventory.save_reading(later)
    assert inventory.readings() == {"s-1": later}


def test_lines_decisions_ticks_and_signatures_are_kept(inventory):
    inventory.save_line(replace(LINE, label="U02", serial="s-2"), why="placed")
    inventory.save_planned_item("s-1", "setting.hold_time_s", 120, why="client asked", by="A. N.")
    inventory.save_tick("den", "people-told", by="A. N.", said="yes")
    signature = Signature("A. N.", "client", READ_AT, {"walk": "later"})
    inventory.save_signature("den", signature)
    assert {line.label for line in inventory.plan().units} == {"U01", "U02"}
    assert inventory.planned_overrides() == {"s-1": {"setting.hold_time_s": 120}}
    assert inventory.ticks()["den"]["people-told"].by == "A. N."
    assert inventory.signatures() == {"den": signature}


def test_what_was_left_last_counts(inventory):
    inventory.save_as_left("s-1", {"setting.x": 1}, READ_AT, why="signed")
    assert inventory.as_left()["s-1"] == ({"setting.x": 1}, READ_AT)


def test_evidence_is_kept_by_its_content(inventory):
    first = inventory.save_evidence("lap", "house", {"a": 1})
    assert inventory.save_evidence("lap", "house", {"a": 1}) == first
    assert inventory.evidence("lap") == {"house": {"a": 1}}
    assert inventory.evidence("soak") == {}


def test_an_intent_is_open_until_its_outcome_stands_beside_it(inventory):
    key = inventory.intend(STEP)
    (step,) = inventory.open_steps()
    assert (step.key, step.step) == (key, STEP)
    inventory.conclude(key, StepState.DONE, "read back")
    assert inventory.open_steps() == ()


def test_the_journal_is_chained_and_a_changed_row_shows(tmp_path):
    import sqlite3

    clock = real_clock()
    with open_inventory(tmp_path, clock) as opened:
        opened.add_site(PLAN)
        for number in range(3):
            opened.append("note", "s-1", {"n": number})
        rows = opened.journal()
        assert [row.number for row in rows] == list(range(1, len(rows) + 1))
        assert all(b.previous_sha256 == a.sha256 for a, b in itertools.pairwise(rows))
        assert opened.first_broken_row() is None
    with sqlite3.connect(tmp_path / "inventory.sqlite3") as raw:
        changed = raw.execute(
            "UPDATE journal SET detail = ? WHERE number = ?", (json.dumps({"n": 9}), len(rows) - 1)
        ).rowcount
    raw.close()
    assert changed == 1
    with open_inventory(tmp_path, clock) as opened:
        assert opened.first_broken_row() == len(rows) - 1


def test_a_second_program_reads_and_can_not_write(tmp_path, inventory):
    with open_inventory(tmp_path, real_clock()) as second:
        assert second.read_only
        assert second.plan() == PLAN
        with pytest.raises(InventoryError, match="held"):
            second.append("note", "", {})


def test_a_file_of_a_newer_program_is_refused_untouched(tmp_path):
    import sqlite3

    with open_inventory(tmp_path, real_clock()) as opened:
        opened.add_site(PLAN)
    path = tmp_path / "inventory.sqlite3"
    with sqlite3.connect(path) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '9999'")
    raw.close()
    before = path.read_bytes()
    with pytest.raises(InventoryError, match="9999"):
        open_inventory(tmp_path, real_clock())
    assert path.read_bytes() == before


def test_a_file_that_is_no_inventory_is_refused_untouched(tmp_path):
    path = tmp_path / "inventory.sqlite3"
    path.write_bytes(b"not a database at all" * 100)
    with pytest.raises(InventoryError, match=r"inventory\.sqlite3"):
        open_inventory(tmp_path, real_clock())
    assert path.read_bytes().startswith(b"not a database")


def test_without_a_site_there_is_no_plan_to_speak_of(tmp_path):
    with open_inventory(tmp_path, real_clock()) as opened:
        assert opened.site_name is None
        assert opened.sites() == ()

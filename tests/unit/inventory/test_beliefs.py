"""What was heard, read, left, decided and done is kept with its time, and the last word counts."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest

from fleet.inventory.inventory import open_inventory
from fleet.inventory.marks import Tick
from fleet.inventory.sqlite import reading_engine
from fleet.model.errors import InventoryError, PlanError
from fleet.model.house import Signature
from tests.inventories import LEFT_AT, NOON, CountingClock, line, reading, sighting, small_plan


def count(inventory, table):
    engine = reading_engine(inventory.path, others_write=True)
    with engine.connect() as connection:
        number = connection.exec_driver_sql(f"SELECT count(*) FROM {table}").scalar_one()  # noqa: S608 - the test's own words
    engine.dispose()
    return number


def test_a_reading_comes_out_as_it_went_in(inventory, reopened):
    inventory.save_reading(reading())
    assert inventory.readings() == {"S-1": reading()}
    assert reopened().readings() == {"S-1": reading()}


def test_a_reading_that_says_nothing_is_kept_as_far_as_it_goes(inventory):
    bare = reading(
        sheet={}, capabilities={}, area_revision=None, signal_dbm=None, other={}, missing=(),
        complaints=(),
    )  # fmt: skip
    inventory.save_reading(bare)
    assert inventory.readings() == {"S-1": bare}


def test_the_last_reading_counts_even_when_the_clock_stepped_back(inventory):
    earlier = reading(read_at=NOON - timedelta(days=1), title="later, by an earlier clock")
    inventory.save_reading(reading())
    inventory.save_reading(earlier)
    assert inventory.readings() == {"S-1": earlier}


def test_older_readings_are_kept(inventory):
    before = count(inventory, "sheet")
    inventory.save_reading(reading())
    inventory.save_reading(reading(title="again"))
    assert count(inventory, "reading") == 2
    assert count(inventory, "sheet") == before + 2


def test_a_time_of_another_offset_is_kept_as_the_same_moment(inventory):
    local = datetime(2026, 11, 25, 14, 0, 0, 123456, tzinfo=timezone(timedelta(hours=2)))
    inventory.save_reading(reading(read_at=local))
    assert inventory.readings()["S-1"].read_at == local


def test_a_time_without_offset_is_refused(inventory):
    with pytest.raises(InventoryError, match="no offset"):
        inventory.save_reading(reading(read_at=datetime(2026, 11, 25)))  # noqa: DTZ001 - the fault
    assert inventory.readings() == {}


@pytest.mark.parametrize(
    "bad", [float("nan"), float("inf"), 10**5000], ids=["nan", "infinity", "5,001 digits"]
)
def test_a_value_that_json_cannot_say_is_refused_whole(inventory, bad):
    rows = len(inventory.journal())
    with pytest.raises(InventoryError, match="Nothing of this was stored"):
        inventory.save_reading(reading(capabilities={"odd": bad}))
    assert inventory.readings() == {}
    assert len(inventory.journal()) == rows


def test_an_integer_larger_than_the_database_takes_is_refused(inventory):
    with pytest.raises(InventoryError):
        inventory.save_reading(reading(area_revision=2**70))
    assert inventory.readings() == {}


def test_a_huge_integer_in_a_sheet_is_kept_exactly(inventory):
    inventory.save_reading(reading(sheet={"setting.odd": 2**70}))
    assert inventory.readings()["S-1"].sheet == {"setting.odd": 2**70}


def test_texts_that_no_database_takes_are_mended(inventory):
    inventory.save_reading(reading(title="a\ud800b\0c", other={"k\0": "\udfff"}))
    kept = inventory.readings()["S-1"]
    assert kept.title == "a\ufffdb\ufffdc"
    assert kept.other == {"k\ufffd": "\ufffd"}


def test_what_was_heard_before_the_first_site_belongs_to_it(tmp_path):
    with open_inventory(tmp_path, CountingClock()) as inventory:
        inventory.save_sighting("S-1", sighting())
        inventory.save_reading(reading())
        assert inventory.readings() == {"S-1": reading()}
        inventory.add_site(small_plan())
        assert inventory.readings() == {"S-1": reading()}
        assert inventory.sightings() == {"S-1": sighting()}


def test_the_last_sighting_counts(inventory):
    inventory.save_sighting("S-1", sighting())
    moved = sighting("http://127.0.0.1:10/", NOON + timedelta(hours=1))
    inventory.save_sighting("S-1", moved)
    assert inventory.sightings() == {"S-1": moved}


def test_sheets_left_earlier_are_found_by_serial(inventory):
    left = {"setting.hold_time_s": 20, "build.version": "2.1.3"}
    assert inventory.as_left() == {"S-1": (left, LEFT_AT)}


def test_a_sheet_left_under_a_label_belongs_to_the_first_serial_it_is_given(inventory):
    inventory.save_line(line("U2", "S-2", "loft"), why="placed")
    assert inventory.as_left()["S-2"] == ({"build.sequence": 40}, LEFT_AT)
    inventory.save_line(line("U2", "S-22", "loft"), why="swapped")
    assert "S-22" not in inventory.as_left()
    assert inventory.plan().visits == small_plan().visits


def test_a_unit_that_was_left_under_another_label_keeps_its_own_sheet(inventory):
    own = inventory.as_left()["S-1"]
    inventory.save_line(line("U1", ""), why="taken off")
    inventory.save_line(line("U2", "S-1", "loft"), why="labels were crossed")
    assert inventory.as_left() == {"S-1": own}


def test_a_sheet_left_this_visit_replaces_the_one_before(inventory):
    inventory.save_as_left("S-1", {"setting.hold_time_s": 45}, NOON, why="signed")
    assert inventory.as_left()["S-1"] == ({"setting.hold_time_s": 45}, NOON)
    assert inventory.plan() == small_plan()


def test_the_later_of_two_earlier_visits_counts(tmp_path):
    plan = small_plan()
    later = replace(
        plan.visits[0], left_at=LEFT_AT + timedelta(days=9), as_left={"U1": {"build.sequence": 41}}
    )
    with open_inventory(tmp_path, CountingClock()) as inventory:
        inventory.add_site(replace(plan, visits=(*plan.visits, later)))
        assert inventory.as_left()["S-1"] == ({"build.sequence": 41}, later.left_at)


def test_a_decision_overrides_one_planned_item_and_can_take_it_away(inventory, reopened):
    inventory.save_planned_item("S-1", "setting.hold_time_s", 30, why="asked for", by="A")
    inventory.save_planned_item("S-1", "areas.2.kind", None, why="not wanted", by="A")
    inventory.save_planned_item("S-1", "setting.hold_time_s", 40, why="asked again", by="B")
    decided = {"S-1": {"areas.2.kind": None, "setting.hold_time_s": 40}}
    assert inventory.planned_overrides() == decided
    again = reopened()
    assert again.planned_overrides() == decided
    whys = [row.detail["why"] for row in again.journal() if row.what == "planned-item-decided"]
    assert whys == ["asked for", "not wanted", "asked again"]


def test_the_last_tick_of_an_item_counts(inventory):
    inventory.save_tick("hall", "label-readable", by="A", said="first")
    inventory.save_tick("hall", "label-readable", by="B", said="second")
    inventory.save_tick("loft", "walk", by="B", said="")
    ticks = inventory.ticks()
    assert (ticks["hall"]["label-readable"].by, ticks["hall"]["label-readable"].said) == (
        "B",
        "second",
    )
    assert isinstance(ticks["loft"]["walk"], Tick)
    assert ticks["loft"]["walk"].at > NOON


def test_the_last_signature_of_this_visit_counts_and_earlier_visits_keep_theirs(inventory):
    assert inventory.signatures() == {}
    inventory.save_signature("hall", Signature("A", "client", NOON))
    last = Signature("B", "owner", NOON, {"soak": "agreed"})
    inventory.save_signature("hall", last)
    assert inventory.signatures() == {"hall": last}
    assert inventory.plan() == small_plan()


def test_a_room_that_is_not_there_can_be_neither_ticked_nor_signed(inventory):
    with pytest.raises(PlanError, match="no such room"):
        inventory.save_tick("cellar", "walk", by="A", said="")
    with pytest.raises(PlanError, match="no such room"):
        inventory.save_signature("cellar", Signature("A", "client", NOON))


def test_evidence_is_kept_once_under_its_digest_and_the_last_counts(inventory):
    first = inventory.save_evidence("lap", "house", {"walked": {"hall": 1.5}, "open": [1, None]})
    other = inventory.save_evidence("lap", "house", {"walked": {}})
    again = inventory.save_evidence("lap", "house", {"open": [1, None], "walked": {"hall": 1.5}})
    assert again == first != other
    assert inventory.evidence("lap") == {"house": {"walked": {"hall": 1.5}, "open": [1, None]}}
    assert inventory.evidence("soak") == {}
    assert count(inventory, "document") == 2
    assert count(inventory, "evidence") == 3

"""Which sheets are kept of a unit: as found at each visit, what differed later, and as left."""

from datetime import timedelta

import pytest

from fleet.engine.restoring import chosen_sheet
from fleet.model.errors import PlanError
from tests.inventories import LEFT_AT, NOON, reading


def read(inventory, after_h, hold_time_s, **more):
    sheet = {"setting.hold_time_s": hold_time_s}
    inventory.save_reading(reading(read_at=NOON + timedelta(hours=after_h), sheet=sheet, **more))


@pytest.fixture
def kept(inventory):
    """The sheets of a unit that was read at two visits and left in between."""
    for after_h, hold_time_s in ((0, 30), (1, 30), (2, 45), (3, 30)):
        read(inventory, after_h, hold_time_s)
    inventory.save_as_left(
        "S-1", {"setting.hold_time_s": 31}, NOON + timedelta(hours=4), why="signed by A"
    )
    read(inventory, 30, 30)
    read(inventory, 31, 50, area_revision=None)
    return inventory.sheets_of_unit("S-1")


def test_the_first_reading_of_a_visit_is_as_found_and_readings_that_say_the_same_are_one(kept):
    told = [(sheet.kind, sheet.sheet.get("setting.hold_time_s")) for sheet in kept]
    assert told == [
        ("as left", 20),
        ("as found", 30),
        ("found", 45),
        ("found", 30),
        ("as left", 31),
        ("as found", 30),
        ("found", 50),
    ]
    assert [sheet.why for sheet in kept[:2]] == [
        "left by Invented Installer",
        "first reading of a visit",
    ]
    assert kept[0].at == LEFT_AT


def test_a_sheet_knows_the_areas_if_the_set_or_an_area_was_read(kept):
    assert [sheet.says_areas for sheet in kept] == [False, True, True, True, False, True, False]


def test_a_sheet_is_chosen_by_word_key_date_or_moment(kept):
    by_word = {
        "as-left": 4,
        "as-found": 5,
        kept[2].key: 2,
        "2026-11-25": 4,
        "2026-11-26": 6,
        "2026-11-25T14:30:00Z": 2,
        "2026-11-25T15:30:00+02:00": 1,
    }
    for word, place in by_word.items():
        assert chosen_sheet(kept, word) == kept[place], word


@pytest.mark.parametrize("word", ["sheet-999", "2020-01-01", "as-found"])
def test_a_sheet_that_is_not_kept_is_refused(kept, word):
    with pytest.raises(PlanError, match="no such sheet is kept"):
        chosen_sheet(kept if word != "as-found" else (), word)


@pytest.mark.parametrize("word", ["yesterday", "2026-11-25T10:00:00", "sheet-", ""])
def test_what_is_no_sheet_no_date_and_no_moment_is_refused(kept, word):
    with pytest.raises(PlanError, match="is no date, no moment and no sheet"):
        chosen_sheet(kept, word)


def test_a_unit_that_was_never_read_has_no_sheets(inventory):
    assert inventory.sheets_of_unit("S-77") == ()

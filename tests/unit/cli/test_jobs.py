from dataclasses import replace
from datetime import UTC, datetime

from fleet.cli import jobs
from tests.ui.invented import house_of


def test_what_was_never_read_is_named_before_it_is_said_that_nothing_is_to_do():
    house = house_of()
    units = {serial: replace(unit, found=None) for serial, unit in house.units.items()}
    said = jobs._in_words(replace(house, units=units, jobs=())).splitlines()
    labels = sorted(unit.line.label for unit in house.units.values())
    assert said[1] == f"never read, so nothing is known of them: {', '.join(labels)}"
    assert "Builds: nothing to do" in said


def test_how_old_the_oldest_reading_is_stands_at_the_head():
    house = house_of()
    (first, *others), at = house.units, datetime(2026, 1, 2, 3, 4, tzinfo=UTC)
    units = dict(house.units)
    units[first] = replace(units[first], found=replace(units[first].found, read_at=at))
    said = jobs._in_words(replace(house, units=units)).splitlines()
    count = len(others) + 1
    assert (
        said[1] == f"{count} of {count} units were read, the longest ago on 02 Jan 2026 03:04 UTC"
    )

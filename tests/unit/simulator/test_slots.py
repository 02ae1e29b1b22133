"""Two slots: what may happen to them, and what must never."""

from dataclasses import replace

import pytest

from fleet.simulator.slots import confirmed, erased, factory_slots, rolled_back, tried, written
from tests.unit.simulator.small_house import BUILD

NEW = replace(BUILD, version="1.3.0", sequence=13)


def test_a_new_unit_starts_from_the_slot_of_its_sequences_parity():
    assert (factory_slots(BUILD).running, factory_slots(NEW).running) == ("a", "b")
    assert factory_slots(NEW).build == NEW
    assert factory_slots(NEW).other_build is None


def test_only_the_slot_that_does_not_run_is_written():
    slots = written(erased(factory_slots(BUILD)), NEW)
    assert (slots.build, slots.other_build, slots.other) == (BUILD, NEW, "b")
    assert erased(slots) == factory_slots(BUILD)


def test_a_tried_image_runs_unconfirmed_until_it_is_confirmed():
    slots = tried(written(factory_slots(BUILD), NEW))
    assert (slots.build, slots.confirmed) == (NEW, False)
    assert confirmed(slots).confirmed


def test_a_failed_trial_brings_back_the_old_image_and_empties_the_tried_slot():
    slots = tried(written(factory_slots(BUILD), NEW))
    assert rolled_back(slots) == factory_slots(BUILD)


def test_what_is_confirmed_is_not_rolled_back():
    slots = confirmed(tried(written(factory_slots(BUILD), NEW)))
    assert rolled_back(slots) == slots


def test_an_empty_slot_is_not_tried():
    with pytest.raises(ValueError, match="slot b holds nothing"):
        tried(factory_slots(BUILD))


def test_an_empty_slot_that_runs_is_a_mistake():
    with pytest.raises(ValueError, match="slot b runs"):
        _ = replace(factory_slots(BUILD), running="b").build

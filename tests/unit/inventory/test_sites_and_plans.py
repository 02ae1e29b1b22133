"""A plan goes in and comes out the same, and its schedule can be changed."""

from dataclasses import replace

import pytest

from fleet.engine.files import read_plan
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.model.geometry import Pose
from fleet.shipped import resources
from tests.inventories import CountingClock, line, reading, small_plan


@pytest.mark.parametrize("plan", [small_plan(), read_plan(resources() / "houses" / "marlpit")])
def test_a_plan_comes_out_as_it_went_in(tmp_path, plan):
    with open_inventory(tmp_path, CountingClock()) as inventory:
        inventory.add_site(plan)
    with open_inventory(tmp_path, CountingClock()) as inventory:
        assert inventory.plan() == plan
        assert [list(u.settings) for u in inventory.plan().units] == [
            list(u.settings) for u in plan.units
        ]


def test_without_a_site_there_is_no_plan(tmp_path):
    with open_inventory(tmp_path, CountingClock()) as inventory:
        assert inventory.site_name is None
        assert inventory.sites() == ()
        with pytest.raises(PlanError, match="no site yet"):
            inventory.plan()


def test_the_first_site_is_the_current_one_until_another_is_chosen(inventory):
    other = small_plan("Second Lodge")
    inventory.add_site(other)
    assert inventory.site_name == "Test Lodge"
    inventory.choose_site("Second Lodge")
    assert inventory.site_name == "Second Lodge"
    assert inventory.sites() == ("Test Lodge", "Second Lodge")
    assert inventory.plan() == other


def test_a_choice_outlives_the_program(inventory, reopened):
    inventory.add_site(small_plan("Second Lodge"))
    inventory.choose_site("Second Lodge")
    assert reopened().site_name == "Second Lodge"


def test_a_site_that_is_not_there_cannot_be_chosen(inventory):
    with pytest.raises(PlanError, match="no site of that name"):
        inventory.choose_site("Nowhere")
    assert inventory.site_name == "Test Lodge"


def test_a_second_site_of_the_same_name_is_refused(inventory):
    rows = len(inventory.journal())
    with pytest.raises(PlanError, match="is there already"):
        inventory.add_site(small_plan())
    assert inventory.sites() == ("Test Lodge",)
    assert len(inventory.journal()) == rows


def test_a_plan_that_does_not_hold_together_is_refused_whole(inventory):
    odd = replace(small_plan("Odd Lodge"), units=(line(room="nowhere"),), visits=())
    with pytest.raises(PlanError, match="nowhere"):
        inventory.add_site(odd)
    assert inventory.sites() == ("Test Lodge",)


def test_beliefs_about_one_site_are_not_shown_at_another(inventory):
    inventory.save_reading(reading())
    inventory.save_tick("hall", "walk", by="A", said="")
    inventory.add_site(small_plan("Second Lodge"))
    inventory.choose_site("Second Lodge")
    assert inventory.readings() == {}
    assert inventory.ticks() == {}


def test_a_line_is_added_at_the_end(inventory):
    inventory.save_line(line("U9", "S-9"), why="found another")
    assert [unit.label for unit in inventory.plan().units] == ["U1", "U2", "U3", "U9"]


def test_a_line_is_replaced_where_it_stands(inventory):
    changed = line("U1", "S-77", "loft", pose=Pose(1, 2, 3), settings={"hold_time_s": 9}, areas=())
    inventory.save_line(changed, why="moved")
    assert inventory.plan().units[0] == changed
    assert [unit.label for unit in inventory.plan().units] == ["U1", "U2", "U3"]
    assert inventory.journal()[-1].detail["why"] == "moved"


def test_a_serial_stands_on_one_line_only(inventory):
    with pytest.raises(PlanError, match="stands on U1 already"):
        inventory.save_line(line("U3", "S-1", "loft"), why="crossed")
    assert inventory.plan() == small_plan()


def test_many_lines_may_wait_for_a_serial(inventory):
    inventory.save_line(line("U8", ""), why="ordered")
    assert [unit.serial for unit in inventory.plan().units] == ["S-1", "", "S-3", ""]


def test_a_line_in_a_room_that_is_not_there_is_refused(inventory):
    with pytest.raises(PlanError, match="no room 'cellar'"):
        inventory.save_line(line(room="cellar"), why="moved")
    assert inventory.plan() == small_plan()

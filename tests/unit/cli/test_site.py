import argparse
import json

import pytest

from fleet.cli import site
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.shipped import resources
from tests.campaigns import house_of
from tests.inventories import CountingClock

HOUSE = resources() / "houses" / "marlpit"


def run(folder, *words):
    parser = argparse.ArgumentParser()
    site.add_arguments(parser)
    return site.run(parser.parse_args([*map(str, words), "--data", str(folder)]))


@pytest.fixture
def folder(tmp_path, capsys):
    """An inventory of two sites, the demo house the current one."""
    with open_inventory(tmp_path, CountingClock()) as inventory:
        inventory.add_site(house_of(3)[0])
    run(tmp_path, "add", HOUSE)
    assert "Marlpit House: 10 rooms and 14 units" in capsys.readouterr().out
    return tmp_path


def test_all_sites_are_listed_and_one_is_the_current_one(folder, capsys):
    assert run(folder, "list") == 0
    assert capsys.readouterr().out.splitlines() == ["3 Rooms", "Marlpit House, the current one"]
    run(folder, "list", "--json")
    told = json.loads(capsys.readouterr().out)
    assert told == {"sites": ["3 Rooms", "Marlpit House"], "current": "Marlpit House"}


def test_another_site_is_gone_on_at(folder, capsys):
    assert run(folder, "use", "3 Rooms") == 0
    assert capsys.readouterr().out == "3 Rooms is the current site now.\n"
    with open_inventory(folder, CountingClock()) as inventory:
        assert inventory.site_name == "3 Rooms"
        assert len(inventory.plan().units) == 3


def test_a_site_of_another_name_is_refused_with_those_that_there_are(folder):
    with pytest.raises(PlanError, match="no site of that name") as told:
        run(folder, "use", "Nowhere")
    assert "3 Rooms, Marlpit House" in str(told.value)


def test_an_empty_inventory_says_what_to_do(tmp_path, capsys):
    assert run(tmp_path, "list") == 0
    assert "walkdown site add PLAN" in capsys.readouterr().out

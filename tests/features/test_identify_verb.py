"""The verb `identify` against the simulated house: units show themselves in turn, and that is journaled."""

import argparse
import asyncio

import pytest

from fleet.cli import identify
from fleet.cli.saying import DONE, REPORTED
from fleet.cli.simulated_house import own_address, simulated_house
from fleet.engine.files import read_plan
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.shipped import resources
from tests.inventories import CountingClock

pytestmark = pytest.mark.slow
HOUSE = resources() / "houses" / "marlpit"


def arguments(data, *words, address=""):
    parser = argparse.ArgumentParser()
    identify.add_arguments(parser)
    parsed = parser.parse_args([*words, "--interface", address] if address else words)
    parsed.data = data
    return parsed


@pytest.fixture
def data(tmp_path):
    with open_inventory(tmp_path, CountingClock()) as inventory:
        inventory.add_site(read_plan(HOUSE))
    return tmp_path


async def test_units_of_the_house_show_themselves_in_turn(data, capsys):
    address = own_address()
    async with simulated_house(HOUSE, seed=1, speed=1.0, address=address):
        given = arguments(data, "U04", "U02", "--seconds", "1", address=address)
        assert await asyncio.to_thread(identify.run, given) == DONE
    said = capsys.readouterr().out.splitlines()
    assert [line.split("  ") for line in said] == [
        ["1 of 2", "U04", "Kitchen-diner"],
        ["2 of 2", "U02", "Living room"],
    ]
    with open_inventory(data, CountingClock()) as inventory:
        serials = {line.label: line.serial for line in inventory.plan().units}
        shown = [row.subject for row in inventory.journal() if row.what == "identified"]
    assert shown == [serials["U04"], serials["U02"]]


def test_units_that_do_not_answer_are_named_and_the_rest_goes_on(data, capsys, monkeypatch):
    monkeypatch.setattr(identify, "SCAN_S", 0.2)
    given = arguments(data, "U04", "U02", address="127.0.0.1")
    assert identify.run(given) == REPORTED
    said = capsys.readouterr()
    assert len(said.out.splitlines()) == 2
    assert [line.split(":")[1].strip() for line in said.err.splitlines()] == ["U04", "U02"]
    assert "hasn't answered at this visit" in said.err


def test_without_a_site_that_is_said(tmp_path):
    with pytest.raises(PlanError, match="no site yet"):
        identify.run(arguments(tmp_path, "--all"))

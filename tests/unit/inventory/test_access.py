"""Certificates that were trusted, brokers, and what an advert said, are kept and accounted for."""

import pytest

from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.model.meeting import Pin
from fleet.model.units import Sighting
from tests.inventories import NOON, CountingClock, reading, small_plan

PIN = Pin("urn:uuid:1", "ab" * 32, NOON)


@pytest.fixture
def inventory(tmp_path):
    with open_inventory(tmp_path, CountingClock()) as inventory:
        inventory.add_site(small_plan())
        yield inventory


def whats(inventory):
    return [row.what for row in inventory.journal()]


def test_a_trusted_certificate_is_kept_until_it_is_forgotten(inventory):
    assert inventory.pin_for(PIN.key) is None
    inventory.keep(PIN)
    assert inventory.pin_for(PIN.key) == PIN
    inventory.forget_pin(PIN.key, why="unit was replaced", by="Invented Installer")
    assert inventory.pin_for(PIN.key) is None
    assert whats(inventory)[-2:] == ["certificate-trusted", "certificate-forgotten"]


def test_a_broker_belongs_to_its_site(inventory):
    inventory.save_broker("mqtt://192.0.2.1:1883")
    inventory.save_broker("mqtt://192.0.2.1:1883")
    assert inventory.brokers() == ("mqtt://192.0.2.1:1883",)
    inventory.add_site(small_plan("Other Lodge"))
    inventory.choose_site("Other Lodge")
    assert inventory.brokers() == ()


def test_a_broker_needs_a_site(tmp_path):
    with open_inventory(tmp_path, CountingClock()) as inventory:
        assert inventory.brokers() == ()
        with pytest.raises(PlanError):
            inventory.save_broker("mqtt://192.0.2.1:1883")


def test_what_an_advert_and_a_unit_said_comes_back(inventory):
    heard = Sighting("U", "http://192.0.2.9/", NOON, "u.local", "_wot._tcp", {"td": "/td", "x": ""})
    inventory.save_sighting("S-1", heard)
    inventory.save_reading(reading(access="password over http"))
    assert inventory.sightings()["S-1"] == heard
    assert inventory.readings()["S-1"].access == "password over http"

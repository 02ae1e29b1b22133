"""Faults by chance: as many as were asked for, the same for the same seed."""

from dataclasses import replace

from fleet.simulator.faults import with_firmware_faults
from fleet.simulator.truth import FirmwareFault, Truth
from tests.unit.simulator.small_house import STATIC

TWO_HUNDRED = Truth(tuple(replace(STATIC, serial=f"N-{n}") for n in range(200)))


def struck(truth) -> dict[str, FirmwareFault]:
    return {unit.serial: unit.firmware_fault for unit in truth.units if unit.firmware_fault}


def test_two_in_a_hundred_of_two_hundred_units_are_four():
    assert len(struck(with_firmware_faults(TWO_HUNDRED, 20_000, 1))) == 4


def test_the_seed_says_which_units_and_which_faults():
    drawn = [struck(with_firmware_faults(TWO_HUNDRED, 20_000, seed)) for seed in (1, 1, 2)]
    assert drawn[0] == drawn[1] != drawn[2]


def test_all_units_may_be_struck_and_every_fault_comes_up():
    found = struck(with_firmware_faults(TWO_HUNDRED, 1_000_000, 1))
    assert len(found) == 200
    assert set(found.values()) == set(FirmwareFault)


def test_none_is_struck_where_none_is_asked_for():
    assert with_firmware_faults(TWO_HUNDRED, 0, 1) == TWO_HUNDRED


def test_a_fault_of_the_truth_stays():
    ill = Truth((replace(STATIC, firmware_fault=FirmwareFault.HANG),))
    assert with_firmware_faults(ill, 1_000_000, 1) == ill

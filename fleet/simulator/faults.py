"""Firmware faults by chance: so many of a house's units get one, which ones is the seed's to say."""

from dataclasses import replace

from fleet.simulator.chance import MILLION, key_of, share_ppm
from fleet.simulator.truth import FirmwareFault, TrueUnit, Truth


def with_firmware_faults(truth: Truth, ppm: int, seed: int) -> Truth:
    """Give a share of the units a firmware fault each, and leave those alone that have one.

    Args:
        truth: the house.
        ppm: share of its units, rounded to whole units.
        seed: of which units, and of which fault each.
    """
    count = (len(truth.units) * ppm + MILLION // 2) // MILLION
    drawn = sorted(range(len(truth.units)), key=lambda index: key_of(seed, "firmware", index))
    struck = set(drawn[:count])
    units = tuple(
        _ill(unit, key_of(seed, "fault", index)) if index in struck else unit
        for index, unit in enumerate(truth.units)
    )
    return replace(truth, units=units)


def _ill(unit: TrueUnit, key: int) -> TrueUnit:
    if unit.firmware_fault is not None:
        return unit
    faults = tuple(FirmwareFault)
    return replace(unit, firmware_fault=faults[share_ppm(key) * len(faults) // MILLION])

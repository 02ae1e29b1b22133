"""Keeping what a lap and the streams proved in the inventory, and taking it out again."""

from collections.abc import Mapping

import msgspec

from fleet.inventory.inventory import Inventory
from fleet.model.snapshot import LiveUnit
from fleet.trials.lap_evidence import LapEvidence

LAP, LINK, HOUSE = "lap", "link", "house"


def save_lap(inventory: Inventory, lap: LapEvidence) -> str:
    """Keep what a lap proved; return its digest."""
    return inventory.save_evidence(LAP, HOUSE, msgspec.to_builtins(lap))


def load_lap(inventory: Inventory) -> LapEvidence:
    """Return what the last lap proved; nothing where none was walked."""
    document = inventory.evidence(LAP).get(HOUSE)
    return LapEvidence() if document is None else msgspec.convert(document, LapEvidence)


def save_losses(inventory: Inventory, live: Mapping[str, LiveUnit]) -> None:
    """Keep the share of numbered reports that each unit lost, where enough came to say."""
    for serial, unit in live.items():
        if unit.lost_ppm is not None:
            document = {"lost_ppm": unit.lost_ppm, "reports": unit.reports}
            inventory.save_evidence(LINK, serial, document)


def load_losses(inventory: Inventory) -> Mapping[str, int]:
    """Return serial → share of numbered reports lost when it was last counted, parts a million."""
    return {
        serial: int(document["lost_ppm"]) for serial, document in inventory.evidence(LINK).items()
    }

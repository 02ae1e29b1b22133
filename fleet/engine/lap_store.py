"""Keeping what a lap proved in the inventory, and taking it out again."""

import msgspec

from fleet.inventory.inventory import Inventory
from fleet.trials.lap_evidence import LapEvidence

KIND = "lap"
SUBJECT = "house"


def save_lap(inventory: Inventory, lap: LapEvidence) -> str:
    """Keep what a lap proved; return its digest."""
    return inventory.save_evidence(KIND, SUBJECT, msgspec.to_builtins(lap))


def load_lap(inventory: Inventory) -> LapEvidence:
    """Return what the last lap proved; nothing where none was walked."""
    document = inventory.evidence(KIND).get(SUBJECT)
    return LapEvidence() if document is None else msgspec.convert(document, LapEvidence)

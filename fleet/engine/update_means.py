"""What updating units needs, handed on as one value."""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field

from fleet.engine.fleet_watch import FleetWatch
from fleet.inventory.inventory import Inventory
from fleet.jobs.update_outcomes import StageLimits
from fleet.model.clock import Clock
from fleet.model.firmware import CampaignTerms, Image, UnitUpdate
from fleet.model.house import Match
from fleet.model.sheets import Sheet

SENT_AT_ONCE = 4

Keep = Callable[[UnitUpdate, Sheet | None], None]


@dataclass(frozen=True, slots=True)
class UpdateMeans:
    """What updating units needs.

    Attributes:
        inventory, fleet, clock: the visit's.
        image: what is installed.
        octets: gives its bytes, checked.
        terms: how.
        matches: what the plan knows to go together.
        keep: keeps and journals how an update stands, with the sheet as found where that is new.
        tell: is told how far an update got.
        limits: for how long a stage may be silent.
        line: held while an image is on its way to a unit. Few are on their way together, so that they
            don't all arrive at once and leave the line idle while they are installed.
    """

    inventory: Inventory
    fleet: FleetWatch
    clock: Clock
    image: Image
    octets: Callable[[], bytes]
    terms: CampaignTerms
    matches: tuple[Match, ...]
    keep: Keep
    tell: Callable[[UnitUpdate], None]
    limits: StageLimits = field(default_factory=StageLimits)
    line: asyncio.Semaphore = field(default_factory=lambda: asyncio.Semaphore(SENT_AT_ONCE))

"""What tests of campaigns share: an invented house of as many rooms as units, its shelf, a visit's parts.

Rooms are 4 m squares in rows of ten, one unit on a wall of each. All units are of one invented maker;
boards and module firmwares differ, so that there are several kinds.
"""

import asyncio
import hashlib
import json
import time
from contextlib import asynccontextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from fleet.engine.campaign_plan import plan_campaign
from fleet.engine.campaign_run import CampaignMeans, CampaignRun
from fleet.engine.fleet_watch import FleetWatch
from fleet.engine.meeting import acquaintance_with
from fleet.engine.secrets import Secrets
from fleet.inventory.inventory import open_inventory
from fleet.jobs.update_outcomes import StageLimits
from fleet.model.clock import HouseClock
from fleet.model.firmware import CampaignTerms, Image
from fleet.model.geometry import Pose
from fleet.model.house import Floor, HousePlan, ModuleType, PlannedUnit, Room, RoomKind, Site
from fleet.model.sheets import Area, AreaKind
from fleet.model.units import Sighting
from fleet.shelf.adding import add_image, sign_shelf
from fleet.shelf.opening import open_shelf
from fleet.simulator.running import running_house
from fleet.simulator.truth import TrueBuild, TrueUnit, Truth
from tests.shelves import CLASS, SIGNER, VENDOR

PITCH_MM, SIDE_MM, A_ROW = 4200, 4000, 10
KINDS = (("R3", "5.0"), ("R4", "5.0"), ("R4", "5.1"))
ROOM_KINDS = (
    RoomKind.CIRCULATION, RoomKind.LIVING, RoomKind.BEDROOM, RoomKind.OFFICE, RoomKind.BATHROOM,
    RoomKind.GARAGE, RoomKind.KITCHEN,
)  # fmt: skip
OLD = TrueBuild("2.0.4", "b-204", 20, "ab" * 32)
SETTINGS = {
    "max_distance_mm": 6000,
    "hold_time_s": 45,
    "sensitivity_percent": 60,
    "mounting_height_mm": 1100,
    "indicator_light": False,
}
SEAT = Area("1", "Seat", AreaKind.WATCH, ((-500, 1000), (500, 1000), (500, 2000), (-500, 2000)))
TOLD = Image(
    version="2.1.3",
    build_id="b-213",
    sequence=30,
    vendor_id=VENDOR,
    class_id=CLASS,
    hardware_revisions=("R3", "R4"),
    module_types=("tracking",),
    module_firmwares=("5.0", "5.1"),
    sha256="",
    size_bytes=0,
    file="",
    notes="Invented for tests.",
)
FAST_LIMITS = StageLimits(
    fetching=60, verifying=30, staged=15, applying=30, rebooting=60, confirming=60
)
"""The simulated unit needs some seconds for each; house seconds."""


def label_of(number: int) -> str:
    return f"N{number + 1:03}"


def house_of(count: int, *, faults=None) -> tuple[HousePlan, Truth]:
    """A plan and its truth; `faults` says label → firmware fault."""
    rooms = tuple(_room(number) for number in range(count))
    plan = HousePlan(
        Site(f"{count} Rooms", demo=True, note="Invented for tests."),
        (Floor("ground", "Ground floor", 0),),
        rooms,
        tuple(_planned(number) for number in range(count)),
    )
    truths = tuple(_true(number, (faults or {}).get(label_of(number))) for number in range(count))
    return plan, Truth(truths)


def _corner(number: int) -> tuple[int, int]:
    return (number % A_ROW) * PITCH_MM, (number // A_ROW) * PITCH_MM


def _room(number: int) -> Room:
    x, y = _corner(number)
    outline = ((x, y), (x + SIDE_MM, y), (x + SIDE_MM, y + SIDE_MM), (x, y + SIDE_MM))
    kind = ROOM_KINDS[number % len(ROOM_KINDS)]
    return Room(f"room-{number}", f"Room {number}", "ground", kind, outline)


def _pose(number: int) -> Pose:
    x, y = _corner(number)
    return Pose(x + SIDE_MM // 2, y, 90_000, height_mm=1100)


def _planned(number: int) -> PlannedUnit:
    board, _ = KINDS[number % len(KINDS)]
    return PlannedUnit(
        label_of(number), f"NN-{number:05}", f"room-{number}", ModuleType.TRACKING, board,
        _pose(number), SETTINGS,
    )  # fmt: skip


def _true(number: int, fault) -> TrueUnit:
    board, module_firmware = KINDS[number % len(KINDS)]
    return TrueUnit(
        f"NN-{number:05}", f"room-{number}", _pose(number), ModuleType.TRACKING, board,
        module_firmware, OLD, SETTINGS, (SEAT,), 3, vendor_id=VENDOR, class_id=CLASS,
        mac=f"02:00:00:00:{number >> 8:02x}:{number & 255:02x}", firmware_fault=fault,
    )  # fmt: skip


def container(size: int, told: Image = TOLD, **changes) -> bytes:
    """Octets in the simulator's invented container, `size` of them."""
    said = {"walkdown_image": 1, "class_id": told.class_id, "version": told.version}
    said |= {"hardware_revisions": list(told.hardware_revisions), "build_id": told.build_id}
    head = json.dumps({**said, "sequence": told.sequence, **changes}).encode() + b"\n"
    body = hashlib.sha256(told.version.encode()).digest() * (size // 32 + 1)
    return (head + body)[:size]


def shelf_with(folder: Path, octets: bytes, told: Image = TOLD):
    """A signed shelf with one image, opened."""
    source = folder / "sources" / f"image-{told.sequence}.bin"
    source.parent.mkdir(parents=True, exist_ok=True)
    source.write_bytes(octets)
    add_image(folder / "shelf", source, told)
    key = sign_shelf(folder / "shelf", SIGNER)
    return open_shelf(folder / "shelf", {key})


def house_clock(speed: float) -> HouseClock:
    return HouseClock(datetime.now(UTC), time.monotonic(), time.monotonic, speed)


@dataclass(slots=True)
class Parts:
    """The parts of a visit that a campaign needs."""

    inventory: object
    fleet: FleetWatch
    clock: HouseClock
    shelf: object
    told: list

    @property
    def image(self) -> Image:
        return self.shelf.images[0]

    def plan(self, *, bench=(), labels=(), **terms):
        terms = CampaignTerms(**{"dwell_s": 5, **terms})
        return plan_campaign(self.inventory, self.image, terms, bench=bench, labels=labels)

    def begin(self, plan):
        return self.inventory.campaigns.begin(plan.image, plan.terms, plan.updates, by="Tester")

    def run_of(self, campaign, *, limits=FAST_LIMITS) -> CampaignRun:
        means = CampaignMeans(
            self.inventory,
            self.fleet,
            self.clock,
            lambda: self.shelf.image_bytes(campaign.image),
            limits,
        )
        return CampaignRun(means, campaign, lambda _, update: self.told.append(update))

    async def run(self, *, limits=FAST_LIMITS, bench=(), labels=(), **terms):
        """Plan, begin and run a campaign; return how it stands."""
        campaign = self.begin(self.plan(bench=bench, labels=labels, **terms))
        return await self.run_of(campaign, limits=limits).run(by="Tester")


@asynccontextmanager
async def site_of(folder: Path, plan: HousePlan, urls, clock: HouseClock, shelf):
    """Open the inventory with a house in it, and meet its units at their addresses."""
    with open_inventory(folder, clock) as inventory:
        if inventory.site_name is None:
            inventory.add_site(plan)
        acquaintance = acquaintance_with(inventory, Secrets(None), clock, ())
        fleet = FleetWatch(inventory, acquaintance, clock)
        try:
            meeting = (fleet.meet_by_hand(Sighting(url, url, clock.now())) for url in urls)
            await asyncio.gather(*meeting)
            yield Parts(inventory, fleet, clock, shelf, [])
        finally:
            await fleet.close()
            await acquaintance.close()


def ends(campaign) -> dict[str, str]:
    """Label → how the unit ended."""
    return {update.label: update.state.value for update in campaign.updates}


@asynccontextmanager
async def served(folder: Path, count: int, *, speed=20.0, octets=None, faults=None, **house):
    """A house that runs in this process, and the parts of a visit to it; yields both."""
    plan, truth = house_of(count, faults=faults)
    clock = house_clock(speed)
    shelf = shelf_with(folder, container(200_000) if octets is None else octets)
    async with running_house(plan, truth, clock=clock, announce=False, **house) as place:
        urls = [unit.url for unit in place.units]
        async with site_of(folder / "data", plan, urls, clock, shelf) as parts:
            yield parts, [unit for _, unit in place.world.units]


def newer(told: Image = TOLD, **changes) -> Image:
    return replace(told, **changes)

"""Publishing the visit as snapshots: one immutable value after another, swapped as one reference."""

import asyncio
from collections.abc import Mapping
from dataclasses import replace

from fleet.engine.house_state import build_house_state
from fleet.engine.live_views import live_unit
from fleet.engine.operations import OperationBook
from fleet.engine.reception import Reception
from fleet.inventory.inventory import Inventory
from fleet.jobs.expecting import expected_and_found
from fleet.model.clock import Clock
from fleet.model.firmware import Campaign
from fleet.model.geometry import Outline, Pose
from fleet.model.house import HousePlan, Site
from fleet.model.snapshot import HouseState, LinkState, LiveUnit, Snapshot
from fleet.trials.lap_evidence import LapEvidence

FRAME_S = 1 / 30
LOOK_AGAIN_S = 3.0
RATE_OVER_S = 1.0


class Publisher:
    """Makes snapshots of a visit.

    Attributes:
        latest: the last snapshot; any thread may take the reference.
        lap: what the lap proved so far.
        prompt: what the walking person is asked to do.
        showing: serial of the unit that shows itself in a sweep, "" for none.
        trouble: what went wrong with work in the background, "" for nothing.
    """

    def __init__(
        self, inventory: Inventory, reception: Reception, operations: OperationBook, clock: Clock
    ) -> None:
        """Publish a first snapshot at once."""
        self.lap = LapEvidence()
        self.prompt = ""
        self.showing = ""
        self.shelf = ""
        self.trouble = ""
        self._inventory = inventory
        self._reception = reception
        self._operations = operations
        self._clock = clock
        self._counted = (clock.monotonic_s(), 0)
        self._rate_per_s = 0.0
        self._places: dict[str, tuple[Pose, Outline]] = {}
        self.latest = Snapshot(clock.now(), clock.speed, HouseState(_no_plan()))

    def refresh(self) -> HouseState:
        """Read the inventory again; swap the slow part only where it says something else."""
        if self._inventory.site_name is None:
            return self.latest.house
        live = self._live()
        house = self._with_meeting(
            build_house_state(self._inventory, self.lap, live, self._clock.now()), live
        )
        if house != self.latest.house:
            outlines = {room.key: room.outline_mm for room in house.plan.rooms}
            self._places = {
                line.serial: (self._pose_of(line.serial, line.pose), outlines[line.room])
                for line in house.plan.units
            }
            self._publish(house, live)
        return self.latest.house

    def show_campaign(self, campaign: Campaign) -> None:
        """Show how a campaign stands without reading the inventory again."""
        house = replace(self.latest.house, campaign=campaign)
        self._publish(house, self.latest.live)

    async def run(self) -> None:
        """Publish frame after frame until cancelled."""
        loop_frames = 0
        while True:
            self._publish(self.latest.house, self._live())
            loop_frames += 1
            if loop_frames % round(LOOK_AGAIN_S / FRAME_S) == 0:
                self.refresh()
            await asyncio.sleep(FRAME_S)

    def live(self) -> Mapping[str, LiveUnit]:
        """Return what the units say now."""
        return self._live()

    def _with_meeting(self, house: HouseState, live: Mapping[str, LiveUnit]) -> HouseState:
        """Add how far units were met, and what is weak about the ways into them."""
        met = self._reception.met({serial: unit.link for serial, unit in live.items()})
        labels = {line.serial: line.label for line in house.plan.units if line.serial}
        return replace(
            house,
            troubles=(*self._reception.troubles(), *((self.trouble,) if self.trouble else ())),
            expected=expected_and_found(house.plan, met),
            locked=tuple(met.locked),
            certificates=self._reception.certificates(),
            shelf=self.shelf or (house.campaign.terms.shelf if house.campaign else ""),
            security=self._reception.weaknesses(labels),
        )

    def _pose_of(self, serial: str, planned: Pose) -> Pose:
        """A unit that the lap showed to hang turned over is drawn as it hangs."""
        mount = self.lap.mounts.get(serial)
        turned = mount is not None and mount.fits_turned and not mount.fits_as_planned
        return planned.mirrored() if turned else planned

    def _live(self) -> Mapping[str, LiveUnit]:
        now_s = self._clock.monotonic_s()
        nowhere: tuple[Pose | None, Outline | None] = (None, None)
        return {
            serial: live_unit(record, now_s, *self._places.get(serial, nowhere))
            for serial, record in self._reception.fleet.records.items()
        }

    def _publish(self, house: HouseState, live: Mapping[str, LiveUnit]) -> None:
        self._count(sum(unit.reports for unit in live.values()))
        scheduled = {line.serial for line in house.plan.units if line.serial}
        heard = sum(unit.link is not LinkState.NEVER for unit in live.values())
        self.latest = Snapshot(
            at=self._clock.now(),
            speed=self._clock.speed,
            house=house,
            live=live,
            reports_per_s=self._rate_per_s,
            interface=self._reception.place.interface or "all interfaces",
            heard=heard,
            expected=len(scheduled),
            operations=self._operations.views(),
            prompt=self.prompt,
            showing=self.showing,
        )

    def _count(self, reports: int) -> None:
        now_s = self._clock.monotonic_s()
        since_s, before = self._counted
        if now_s - since_s >= RATE_OVER_S:
            self._rate_per_s = (reports - before) / (now_s - since_s)
            self._counted = (now_s, reports)


def _no_plan() -> HousePlan:
    return HousePlan(Site("No site yet"), (), ())

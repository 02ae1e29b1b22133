"""Running a campaign: settle what was cut off, then wave by wave, a gate after each unit.

1. Units whose update was cut off, or that weren't recovered, are read before anything else is done.
2. A unit begins only while the gate is open and nobody asked to pause or stop. Whoever has begun is always
   brought to an end first.
3. Every step is on the disk before the next. What is in memory is only what was kept.
4. A shelf that no longer gives the image stops the campaign at a gate; the unit whose turn it was waits.
"""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from fleet.engine.campaign_requests import Request, asked, take_away
from fleet.engine.fleet_watch import FleetWatch
from fleet.engine.installing import UnitUpdating
from fleet.engine.update_means import UpdateMeans
from fleet.inventory.inventory import Inventory
from fleet.jobs.gates import OPEN, current_wave, proven, why_stopped
from fleet.jobs.update_outcomes import StageLimits
from fleet.jobs.update_time import left_s, unit_time_s
from fleet.jobs.waves import next_units
from fleet.model.clock import Clock
from fleet.model.errors import PlanError
from fleet.model.firmware import Campaign, CampaignState, UnitUpdate, UpdateState
from fleet.model.sheets import Sheet

LOOK_FOR_REQUESTS_S = 0.5
"""Wall seconds between two looks for a word from another process."""

UNSETTLED = (UpdateState.RUNNING, UpdateState.IN_DOUBT, UpdateState.NOT_RECOVERED)
Tell = Callable[[Campaign, UnitUpdate], None]


@dataclass(frozen=True, slots=True)
class CampaignMeans:
    """What running a campaign needs.

    Attributes:
        inventory, fleet, clock: the visit's.
        octets: gives the image's bytes, checked.
        limits: for how long a stage may be silent.
    """

    inventory: Inventory
    fleet: FleetWatch
    clock: Clock
    octets: Callable[[], bytes]
    limits: StageLimits = field(default_factory=StageLimits)


class CampaignRun:
    """One campaign while it runs.

    Attributes:
        campaign: as it stands.
    """

    def __init__(self, means: CampaignMeans, campaign: Campaign, tell: Tell) -> None:
        """Stand before it; `tell` is called after each step and each piece of progress."""
        self.campaign = campaign
        self._means, self._tell = means, tell
        self._request: Request | None = None
        self._trouble = ""
        self._broken: BaseException | None = None
        self._updating = UpdateMeans(
            inventory=means.inventory,
            fleet=means.fleet,
            clock=means.clock,
            image=campaign.image,
            octets=means.octets,
            terms=campaign.terms,
            matches=means.inventory.plan().matches,
            keep=self._keep,
            tell=self._put,
            limits=means.limits,
        )

    def ask(self, request: Request) -> None:
        """Pause or stop once the running units have an end."""
        self._request = request

    async def run(self, *, by: str, why: str = "") -> Campaign:
        """Run until the campaign is done, waits at a gate, or was asked to pause or stop.

        Args:
            by: who has it run.
            why: why it goes on in spite of failures; "" where there are none to go on in spite of.

        Raises:
            PlanError: it has an end already.
            InventoryError: a step can't be kept; every unit that was begun had its end awaited.
        """
        self._hold_open()
        take_away(self._folder)
        await self._settle()
        self._accept(by, why)
        self._stand(CampaignState.RUNNING, "", by=by, why=why)
        await self._units()
        if self._broken is not None:
            raise self._broken
        self._conclude(by)
        return self.campaign

    async def _settle(self) -> None:
        """Read every unit that was cut off or lost; nothing else is done before."""
        unsettled = [
            update
            for update in self.campaign.updates
            if update.state in UNSETTLED and not update.accepted
        ]
        await asyncio.gather(*(self._one(update).settle() for update in unsettled))

    def _accept(self, by: str, why: str) -> None:
        """Go on in spite of failures where a person gave a reason."""
        numbered = self.campaign.number
        if why.strip() and why_stopped(self.campaign.updates):
            self._means.inventory.campaigns.accept(numbered, by=by, why=why)
            kept = self._means.inventory.campaigns.one(numbered)
            self.campaign = kept or self.campaign

    async def _units(self) -> None:
        running: dict[asyncio.Task[UnitUpdate], UnitUpdate] = {}
        while True:
            for update in self._next(tuple(running.values())):
                task = asyncio.ensure_future(self._one(update).install())
                running[task] = update
            if not running:
                return
            done, _ = await asyncio.wait(
                running, timeout=LOOK_FOR_REQUESTS_S, return_when=asyncio.FIRST_COMPLETED
            )
            for task in done:
                self._note(task, running.pop(task))

    def _next(self, away: tuple[UnitUpdate, ...]) -> tuple[UnitUpdate, ...]:
        updates = self.campaign.updates
        self._request = self._request or asked(self._folder, self.campaign.number)
        if self._request or self._trouble or self._broken or why_stopped(updates):
            return ()
        wave = current_wave(updates)
        begun = {update.serial for update in away}
        waiting = [
            update
            for update in updates
            if update.wave is wave
            and update.state is UpdateState.WAITING
            and update.serial not in begun
        ]
        return next_units(waiting, away, self.campaign.terms.at_once)

    def _note(self, task: asyncio.Task[UnitUpdate], begun: UnitUpdate) -> None:
        reason = task.exception()
        if isinstance(reason, PlanError):
            self._trouble = self._trouble or f"{begun.label} waits: {reason}"
        elif reason is not None:
            self._broken = self._broken or reason

    def _one(self, update: UnitUpdate) -> UnitUpdating:
        as_found: Sheet = {}
        if update.state in UNSETTLED:
            campaigns = self._means.inventory.campaigns
            as_found = campaigns.as_found(self.campaign.number, update.serial)
        return UnitUpdating(self._updating, update, as_found)

    def _conclude(self, by: str) -> None:
        updates = self.campaign.updates
        stopped = self._trouble or why_stopped(updates)
        take_away(self._folder)
        if self._request is Request.STOP:
            self._stand(CampaignState.STOPPED, f"{by} stopped it. {proven(updates)}", by=by)
        elif stopped:
            self._stand(CampaignState.AT_GATE, stopped, by=by)
        elif any(update.state in OPEN for update in updates):
            self._stand(CampaignState.PAUSED, f"{by} paused it. {proven(updates)}", by=by)
        else:
            self._stand(CampaignState.DONE, proven(updates), by=by)

    def _hold_open(self) -> None:
        if self.campaign.state in (CampaignState.STOPPED, CampaignState.DONE):
            raise PlanError(
                f"campaign {self.campaign.number} is {self.campaign.state}.",
                stands="Nothing was sent.",
                next_step="Start another one for the units that are left.",
            )

    def _keep(self, update: UnitUpdate, as_found: Sheet | None) -> None:
        self._means.inventory.campaigns.save_update(self.campaign.number, update, as_found)
        self._put(update)

    def _put(self, update: UnitUpdate) -> None:
        """Take over how a unit stands, with the time that it may still take, and tell."""
        update = replace(update, left_s=left_s(update, unit_time_s(self.campaign)))
        updates = tuple(
            update if one.serial == update.serial else one for one in self.campaign.updates
        )
        self.campaign = replace(self.campaign, updates=updates)
        self._tell(self.campaign, update)

    def _stand(self, state: CampaignState, said: str, *, by: str, why: str = "") -> None:
        number = self.campaign.number
        self._means.inventory.campaigns.save_state(number, state, said, by=by, why=why)
        self.campaign = replace(self.campaign, state=state, said=said)

    @property
    def _folder(self) -> Path:
        return self._means.inventory.path.parent

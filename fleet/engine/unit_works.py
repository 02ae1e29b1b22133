"""What a visit changes in units: apply, restore, install; each planned, journaled and read back."""

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from fleet.engine.apply_run import Hands, apply_changes, rehearse_changes
from fleet.engine.applying import StepResult
from fleet.engine.campaign_plan import CampaignPlan, image_named, plan_campaign
from fleet.engine.campaign_requests import Request
from fleet.engine.campaign_run import UNSETTLED, CampaignMeans, CampaignRun
from fleet.engine.evidence_store import load_lap
from fleet.engine.fleet_watch import FleetWatch
from fleet.engine.operations import Operation, OperationBook
from fleet.engine.publishing import Publisher
from fleet.engine.rehearsing import Rehearsal
from fleet.engine.restoring import plan_restoring
from fleet.engine.settling import Remedy, let_be, put_right, settle_all
from fleet.engine.swapping import planned_swap, swap
from fleet.inventory.inventory import Inventory
from fleet.inventory.kept_sheets import KeptSheet
from fleet.jobs.matching_builds import MATCH_SAID, MatchKey, detail_of
from fleet.jobs.planning import where_from
from fleet.jobs.restoring import Restoring
from fleet.jobs.swapping import SwapPlan
from fleet.model.clock import Clock
from fleet.model.errors import PlanError, WalkdownError
from fleet.model.firmware import (
    Campaign,
    CampaignState,
    CampaignTerms,
    Image,
    ImageLine,
    UnitUpdate,
)
from fleet.model.house import MatchWord
from fleet.model.journal import Change, OpenStep, WriteStep
from fleet.model.templates import OriginRow
from fleet.shelf.opening import Shelf, open_shelf
from fleet.shelf.trust import KEY_DISTRUSTED, KEY_TRUSTED, trusted_keys

SHOW_EVERY_S = 0.5


class UnitWorks:
    """What a visit writes to units. `Visit` is one; everything is called in its loop."""

    def __init__(
        self,
        inventory: Inventory,
        fleet: FleetWatch,
        publisher: Publisher,
        operations: OperationBook,
        clock: Clock,
    ) -> None:
        """Work with a visit's parts."""
        self._inventory = inventory
        self._fleet = fleet
        self._publisher = publisher
        self._operations = operations
        self._clock = clock
        self._shelf: Shelf | None = None
        self._running: CampaignRun | None = None
        self._campaigning: asyncio.Task[None] | None = None
        self._shown_at_s = 0.0

    async def stop_works(self) -> None:
        """Bring a running campaign to a pause; units that are away come to an end first."""
        if self._campaigning is not None:
            if self._running is not None:
                self._running.ask(Request.PAUSE)
            await asyncio.gather(self._campaigning, return_exceptions=True)

    @property
    def _hands(self) -> Hands:
        return Hands(self._inventory, self._fleet.link_to, self._fleet.read_again)

    async def apply(
        self, changes: Sequence[Change], *, by: str, why: str = ""
    ) -> tuple[StepResult, ...]:
        """Write chosen changes, unit by unit, each journaled before and read back after.

        Args:
            changes: chosen by a person.
            by: that person.
            why: where it isn't done for the plan: what for.

        Raises:
            PlanError: a change names a unit that was never read.
            InventoryError: the journal can't be written.
        """
        with self._operations.begin("Apply", can_stop=True) as operation:
            results = await apply_changes(
                self._hands, changes, by=by, why=why, before_each=_progress(operation)
            )
        self._publisher.refresh()
        return results

    async def dry_run(self, changes: Sequence[Change]) -> tuple[Rehearsal, ...]:
        """Do all of an apply but the writes."""
        with self._operations.begin("Dry run"):
            return await rehearse_changes(self._hands, changes)

    async def settle(self) -> tuple[StepResult, ...]:
        """Settle the steps of an apply that was cut off, by reading what their units hold."""
        results = await settle_all(self._inventory, self._fleet.link_to)
        self._publisher.refresh()
        return results

    async def put_right(self, key: str, remedy: Remedy, *, by: str) -> StepResult:
        """Resume a step that is partly done, or roll it back.

        Raises:
            PlanError: there is no such step, or nobody is named.
            LinkError, UnitError: its unit can't be read; nothing was sent.
        """
        step = self._unfinished(key)
        link = self._fleet.link_to(step.step.serial)
        try:
            result = await put_right(self._inventory, link, step, remedy, by=by)
            await self._fleet.read_again(step.step.serial)
            return result
        finally:
            self._publisher.refresh()

    async def let_be(self, key: str, *, by: str, reason: str) -> None:
        """Leave a step partly done, in a person's name.

        Raises:
            PlanError: there is no such step, nobody is named, or no reason given.
        """
        let_be(self._inventory, self._unfinished(key), by=by, reason=reason)
        self._publisher.refresh()

    async def kept_sheets(self, serial: str) -> tuple[KeptSheet, ...]:
        """Return the sheets that are kept of a unit, oldest first."""
        return self._inventory.sheets_of_unit(serial)

    async def plan_restore(self, serial: str, key: str) -> Restoring:
        """Read a unit; return what would be written to bring it to a kept sheet, and what can't be.

        Raises:
            PlanError: no such sheet is kept.
            LinkError, UnitError: the unit can't be read.
        """
        for kept in self._inventory.sheets_of_unit(serial):
            if kept.key == key:
                label = self._labels().get(serial, "")
                return await plan_restoring(self._hands, serial, kept, label)
        raise PlanError("no such sheet is kept of the unit.", subject=f"{serial} {key}")

    async def where_from(self, serial: str) -> tuple[OriginRow, ...]:
        """Return where each planned value of a unit comes from.

        Raises:
            PlanError: it isn't on the schedule.
        """
        unit = self._publisher.latest.house.units.get(serial)
        if unit is None:
            raise PlanError("it isn't on the schedule.", subject=serial)
        return where_from(unit)

    async def open_shelf(self, folder: Path) -> tuple[ImageLine, ...]:
        """Look through a shelf; it is the one that campaigns of this visit work with.

        Raises:
            PlanError: it is none, or nobody here trusts who signed it.
        """
        trusted = trusted_keys(self._inventory.journal_of(KEY_TRUSTED, KEY_DISTRUSTED))
        shelf = await asyncio.to_thread(open_shelf, folder, trusted)
        self._shelf = shelf
        return await asyncio.to_thread(_lines_of, shelf)

    async def plan_campaign(
        self,
        version: str,
        serials: Sequence[str],
        *,
        bench: Sequence[str],
        at_once: int,
        dwell_s: int,
        pull: bool,
        file: str = "",
    ) -> CampaignPlan:
        """Put units in the order of their turn, and say who is left out and why; nothing is sent.

        Raises:
            PlanError: no shelf was opened, it has no such image, or a unit isn't on the schedule.
        """
        shelf = self._open_shelf()
        labels = self._labels()
        terms = CampaignTerms(at_once, dwell_s, pull, shelf=str(shelf.path))
        return plan_campaign(
            self._inventory,
            image_named(shelf, version, file),
            terms,
            labels=[labels[serial] for serial in serials if serial in labels],
            bench=[labels[serial] for serial in bench if serial in labels],
            met=set(self._fleet.addresses),
        )

    async def start_campaign(self, campaign: CampaignPlan, *, by: str) -> None:
        """Keep a campaign and begin it; returns at once.

        Raises:
            PlanError: one is running, or the image isn't what its manifest says.
        """
        self._refuse_second()
        await asyncio.to_thread(self._open_shelf().image_bytes, campaign.image)
        begun = self._inventory.campaigns.begin(
            campaign.image, campaign.terms, campaign.updates, by=by
        )
        self._begin(begun, by=by, why="")

    async def resume_campaign(self, *, by: str, why: str = "") -> None:
        """Go on, units in doubt read first; returns at once.

        Args:
            by: who has it go on.
            why: why it goes on in spite of failures; "" where there are none.

        Raises:
            PlanError: there is none to go on with, or its shelf isn't there.
        """
        self._refuse_second()
        campaign = self._inventory.campaigns.one()
        if campaign is None or campaign.state in (CampaignState.DONE, CampaignState.STOPPED):
            raise PlanError("there is no campaign to go on with.")
        if self._shelf is None or str(self._shelf.path) != campaign.terms.shelf:
            await self.open_shelf(Path(campaign.terms.shelf))
        self._begin(campaign, by=by, why=why)

    async def pause_campaign(self) -> None:
        """Begin no other unit; those that are away come to an end first."""
        if self._running is not None:
            self._running.ask(Request.PAUSE)

    async def stop_campaign(self) -> None:
        """End it for good; those units that are away come to an end first."""
        if self._running is not None:
            self._running.ask(Request.STOP)
            return
        campaign = self._inventory.campaigns.one()
        if campaign is None or campaign.state in (CampaignState.DONE, CampaignState.STOPPED):
            return
        if any(update.state in UNSETTLED for update in campaign.updates):
            # A program that was cut off left units without an end: they get it first, by being read.
            self._begin(campaign, by=campaign.by, why="").ask(Request.STOP)
            return
        self._inventory.campaigns.save_state(
            campaign.number, CampaignState.STOPPED, "Stopped by hand.", by=campaign.by
        )
        self._publisher.refresh()

    async def vouch(self, image: Image, key: str, *, word: MatchWord, by: str, reason: str) -> None:
        """Write down a person's word on a match.

        Args:
            image: the build.
            key: hardware revision, module type and module firmware, joined by a space.
            word: allowed or blocked.
            by, reason: who says so, and why.

        Raises:
            PlanError: nobody is named, no reason given, or the key is none.
        """
        match key.split(" "):
            case [hardware, module, firmware] if by.strip() and reason.strip():
                match_key = MatchKey(hardware, module, firmware, image.version)
            case _:
                raise PlanError("who vouches, for what and why has to be said.", subject=key)
        detail = detail_of(match_key, word, by=by, why=reason)
        self._inventory.append(MATCH_SAID, "", detail)
        self._publisher.refresh()

    async def plan_swap(self, label: str, serial: str) -> SwapPlan:
        """Say what a swap would come to; nothing changes.

        Args:
            label: the place on the schedule.
            serial: of the unit that takes it over; its own where its module was exchanged, or it was reset.

        Raises:
            PlanError: no such label, the new one was never read or has another place, or they don't fit.
        """
        return planned_swap(self._inventory, self._publisher.refresh(), label, serial)

    async def swap(self, plan: SwapPlan, *, by: str, why: str) -> None:
        """Carry a swap out in the inventory; nothing is sent to a unit.

        Raises:
            PlanError: nobody stands for it, or the schedule changed since it was planned.
        """
        swap(self._inventory, plan, by=by, why=why)
        self._publisher.lap = load_lap(self._inventory)
        self._publisher.refresh()

    def _labels(self) -> dict[str, str]:
        return {line.serial: line.label for line in self._inventory.plan().units if line.serial}

    def _unfinished(self, key: str) -> OpenStep:
        for step in self._inventory.unfinished_steps():
            if step.key == key:
                return step
        raise PlanError("no step of that key is partly done.", subject=key)

    def _open_shelf(self) -> Shelf:
        if self._shelf is None:
            raise PlanError("no shelf was opened.", next_step="Choose the folder or the stick.")
        return self._shelf

    def _refuse_second(self) -> None:
        if self._campaigning is not None and not self._campaigning.done():
            raise PlanError("a campaign is running.", next_step="Pause or stop it first.")

    def _begin(self, campaign: Campaign, *, by: str, why: str) -> CampaignRun:
        def octets() -> bytes:
            return self._open_shelf().image_bytes(campaign.image)

        means = CampaignMeans(self._inventory, self._fleet, self._clock, octets)
        running = CampaignRun(means, campaign, self._tell)
        self._running = running
        self._campaigning = asyncio.ensure_future(self._campaign(running, by, why))
        return running

    async def _campaign(self, running: CampaignRun, by: str, why: str) -> None:
        title = f"Campaign {running.campaign.number}: {running.campaign.image.version}"
        try:
            with self._operations.begin(title):
                await running.run(by=by, why=why)
        except WalkdownError as reason:
            self._publisher.trouble = str(reason)
        finally:
            self._running = None
            self._publisher.refresh()

    def _tell(self, campaign: Campaign, update: UnitUpdate) -> None:
        """Show how a campaign stands, now and then; its ends are shown at once."""
        now_s = self._clock.monotonic_s() / self._clock.speed
        if update.done_ppm is None or now_s - self._shown_at_s >= SHOW_EVERY_S:
            self._shown_at_s = now_s
            self._publisher.show_campaign(campaign)


def _progress(operation: Operation) -> Callable[[WriteStep, float], bool]:
    def say(step: WriteStep, share: float) -> bool:
        operation.say(f"{step.label} {step.part}", share)
        return not operation.stop_asked

    return say


def _lines_of(shelf: Shelf) -> tuple[ImageLine, ...]:
    return tuple(_line_of(shelf, image) for image in shelf.images)


def _line_of(shelf: Shelf, image: Image) -> ImageLine:
    line = ImageLine(image, trusted=True, said=f"signed by {shelf.fingerprint}")
    try:
        shelf.image_bytes(image)
    except WalkdownError as reason:
        return replace(line, trusted=False, said=str(reason))
    return replace(line, fingerprint=shelf.fingerprint)

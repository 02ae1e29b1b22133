"""What a visit does with shelves and campaigns: whose shelves are used, waves, gates, pauses."""

import asyncio
from collections.abc import Sequence
from pathlib import Path

from fleet.engine.campaign_plan import CampaignPlan, image_named, plan_campaign
from fleet.engine.campaign_requests import Request
from fleet.engine.campaign_run import UNSETTLED, CampaignMeans, CampaignRun
from fleet.engine.fleet_watch import FleetWatch
from fleet.engine.operations import OperationBook
from fleet.engine.publishing import Publisher
from fleet.engine.shelf_keys import ShelfLook, key_words, look_at, not_trusted, say_of_key
from fleet.inventory.inventory import Inventory
from fleet.jobs.matching_builds import MATCH_SAID, MatchKey, detail_of
from fleet.model.clock import Clock
from fleet.model.errors import PlanError, WalkdownError
from fleet.model.firmware import Campaign, CampaignState, CampaignTerms, Image, UnitUpdate
from fleet.model.house import MatchWord
from fleet.shelf.opening import Shelf
from fleet.shelf.trust import TrustWord

SHOW_EVERY_S = 0.5


class CampaignWorks:
    """The part of a visit that brings builds to units; everything is called in its loop."""

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
        self._running_key = ""
        self._campaigning: asyncio.Task[None] | None = None
        self._shown_at_s = 0.0

    async def stop_works(self) -> None:
        """Bring a running campaign to a pause; units that are away come to an end first."""
        if self._campaigning is not None:
            if self._running is not None:
                self._running.ask(Request.PAUSE)
            await asyncio.gather(self._campaigning, return_exceptions=True)

    async def open_shelf(self, folder: Path) -> ShelfLook:
        """Look through a shelf; where its key is trusted, campaigns of this visit work with it.

        Raises:
            PlanError: it is none, its signature doesn't match, or its manifest can't be used.
        """
        look, self._shelf = await asyncio.to_thread(look_at, folder, key_words(self._inventory))
        self._publisher.shelf = str(folder)
        self._publisher.refresh()
        return look

    async def shelf_keys(self) -> tuple[TrustWord, ...]:
        """Return the last word on each key that somebody said one on, the latest first."""
        words = key_words(self._inventory).values()
        return tuple(sorted(words, key=lambda word: word.at, reverse=True))

    async def trust_key(self, fingerprint: str, *, by: str, why: str) -> None:
        """Use shelves that a key signed, in a person's name.

        Raises:
            PlanError: it is no fingerprint, nobody is named, or no reason given.
        """
        say_of_key(self._inventory, fingerprint, trusted=True, by=by, why=why)

    async def distrust_key(self, fingerprint: str, *, by: str, why: str) -> None:
        """Use shelves that a key signed no longer; a campaign with such an image pauses.

        Raises:
            PlanError: it is no fingerprint, nobody is named, or no reason given.
        """
        word = say_of_key(self._inventory, fingerprint, trusted=False, by=by, why=why)
        if self._shelf is not None and self._shelf.fingerprint == word.fingerprint:
            self._shelf = None
        if self._running is not None and self._running_key == word.fingerprint:
            self._running.ask(Request.PAUSE)

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
        downgrade_why: str = "",
    ) -> CampaignPlan:
        """Put units in the order of their turn, and say who is left out and why; nothing is sent.

        Args:
            version: of an image on the shelf that was opened.
            serials, bench: which units are wanted, and which of them lie on the bench.
            at_once, dwell_s, pull: see `CampaignTerms`.
            file: the image's name on the shelf, where several are of one version.
            downgrade_why: why an older build is meant; "" for never an older one.

        Raises:
            PlanError: no shelf was opened, it has no such image, or a unit isn't on the schedule.
        """
        shelf = self._open_shelf()
        labels = self._labels()
        why = downgrade_why.strip()
        terms = CampaignTerms(at_once, dwell_s, pull, bool(why), str(shelf.path), why)
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

    async def resume_campaign(self, *, by: str, why: str = "", shelf: Path | None = None) -> None:
        """Go on, units in doubt read first; returns at once.

        Args:
            by: who has it go on.
            why: why it goes on in spite of failures; "" where there are none.
            shelf: folder in which its shelf lies now; None for where it lay.

        Raises:
            PlanError: there is none to go on with, or its shelf isn't there, or isn't trusted.
        """
        self._refuse_second()
        campaign = self._inventory.campaigns.one()
        if campaign is None or campaign.state in (CampaignState.DONE, CampaignState.STOPPED):
            raise PlanError("there is no campaign to go on with.")
        if shelf is not None or self._shelf is None or campaign.image not in self._shelf.images:
            look = await self.open_shelf(shelf or Path(campaign.terms.shelf))
            if not look.trusted:
                raise not_trusted(look)
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
        self._inventory.append(MATCH_SAID, str(match_key), detail)
        self._publisher.refresh()

    def _labels(self) -> dict[str, str]:
        return {line.serial: line.label for line in self._inventory.plan().units if line.serial}

    def _open_shelf(self) -> Shelf:
        if self._shelf is None:
            raise PlanError("no shelf was opened.", next_step="Choose the folder or the stick.")
        return self._shelf

    def _refuse_second(self) -> None:
        if self._campaigning is not None and not self._campaigning.done():
            raise PlanError("a campaign is running.", next_step="Pause or stop it first.")

    def _begin(self, campaign: Campaign, *, by: str, why: str) -> CampaignRun:
        # Units that are away get what they were promised, whatever is opened next.
        shelf = self._shelf

        def octets() -> bytes:
            if shelf is None:
                raise PlanError("no shelf was opened.", next_step="Choose the folder or the stick.")
            return shelf.image_bytes(campaign.image)

        means = CampaignMeans(self._inventory, self._fleet, self._clock, octets)
        running = CampaignRun(means, campaign, self._tell)
        self._running, self._running_key = running, shelf.fingerprint if shelf else ""
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

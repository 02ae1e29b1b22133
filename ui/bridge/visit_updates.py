"""What the window asks of a running visit about builds, kept sheets and swaps.

Beside `ui.bridge.visit_like`, of which it is a part: what changes a unit as a whole stands here.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from fleet.engine.applying import StepResult
from fleet.engine.campaign_plan import CampaignPlan
from fleet.engine.rehearsing import Rehearsal
from fleet.engine.settling import Remedy
from fleet.engine.shelf_keys import ShelfLook
from fleet.inventory.kept_sheets import KeptSheet
from fleet.jobs.restoring import Restoring
from fleet.jobs.swap_signs import SwapKind
from fleet.jobs.swapping import SwapPlan
from fleet.model.firmware import Image
from fleet.model.geometry import Pose
from fleet.model.house import MatchWord
from fleet.model.journal import Change
from fleet.model.templates import OriginRow
from fleet.shelf.trust import TrustWord


class UpdatingVisit(Protocol):
    """The part of a visit that updates, restores and swaps units; all of it in the engine's loop.

    Every coroutine raises one of the families of `fleet.model.errors`.
    """

    async def open_shelf(self, folder: Path) -> ShelfLook:
        """Look through a shelf; where its key is trusted, campaigns work with it from now on."""
        ...

    async def shelf_keys(self) -> tuple[TrustWord, ...]:
        """Return the last word on each key that somebody said one on, the latest first."""
        ...

    async def trust_key(self, fingerprint: str, *, by: str, why: str) -> None:
        """Use shelves that a key signed, in a person's name."""
        ...

    async def distrust_key(self, fingerprint: str, *, by: str, why: str) -> None:
        """Use shelves that a key signed no longer; a campaign with such an image pauses."""
        ...

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
            serials: which units are wanted; bench: those of them that lie on the bench.
            at_once: how many may be away at the same time.
            dwell_s: how long each has to report well afterwards, house seconds.
            pull: units fetch the image themselves.
            file: the image's name on the shelf, where several are of one version.
            downgrade_why: why an older build is meant; "" for never an older one.
        """
        ...

    async def start_campaign(self, campaign: CampaignPlan, *, by: str) -> None:
        """Keep a campaign and begin it; returns at once. `HouseState.campaign` says how it stands."""
        ...

    async def pause_campaign(self) -> None:
        """Begin no other unit; those that are away come to an end first."""
        ...

    async def resume_campaign(self, *, by: str, why: str = "", shelf: Path | None = None) -> None:
        """Go on, units in doubt read first; `why` accepts failures. Returns at once.

        `shelf` is the folder in which the campaign's shelf lies now; None for where it lay.
        """
        ...

    async def stop_campaign(self) -> None:
        """End it for good; those units that are away come to an end first."""
        ...

    async def vouch(self, image: Image, key: str, *, word: MatchWord, by: str, reason: str) -> None:
        """Write down a person's word on a match.

        Args:
            image: the build.
            key: hardware revision, module type and module firmware, joined by a space.
            word: allowed or blocked.
            by, reason: who says so, and why.
        """
        ...

    async def dry_run(self, changes: Sequence[Change]) -> tuple[Rehearsal, ...]:
        """Do all of an apply but the writes."""
        ...

    async def put_right(self, key: str, remedy: Remedy, *, by: str) -> StepResult:
        """Resume a step that is partly done, or roll it back; by its key in the journal."""
        ...

    async def let_be(self, key: str, *, by: str, reason: str) -> None:
        """Leave a step partly done, in a person's name."""
        ...

    async def kept_sheets(self, serial: str) -> tuple[KeptSheet, ...]:
        """Return the sheets that are kept of a unit, oldest first."""
        ...

    async def plan_restore(self, serial: str, key: str) -> Restoring:
        """Read a unit; return what would be written to bring it to a kept sheet, and what can't be."""
        ...

    async def where_from(self, serial: str) -> tuple[OriginRow, ...]:
        """Return where each planned value of a unit comes from."""
        ...

    async def plan_swap(
        self,
        label: str,
        serial: str,
        *,
        kind: SwapKind | None = None,
        mount: Pose | None = None,
        chosen_areas: Sequence[str] = (),
    ) -> SwapPlan:
        """Say what a swap would come to.

        Args:
            label: the place on the schedule.
            serial: of the unit that takes it over; its own where its module was exchanged, or it was reset.
            kind: what a person says was exchanged; None for what the readings show.
            mount: how the new one is fixed; None for as the old one.
            chosen_areas: ids of areas to keep first where the new one holds fewer.
        """
        ...

    async def swap(self, plan: SwapPlan, *, by: str, why: str) -> None:
        """Carry a swap out in the inventory; nothing is sent to a unit."""
        ...

"""Updating one unit: check, journal, send, have it installed, read back, put right, watch.

1. What speaks against it is said before a byte goes out (`install_rules`), from a reading of this moment.
2. The image's bytes are held and were checked against the signed manifest; the shelf gives them.
3. The sheet as found, and each thing that is begun, are kept and journaled before it is begun. A program
   that was killed knows from that which unit may be in which state, and settles it by reading (`settle`).
4. No answer decides anything: neither a 500, nor silence, nor "done". What is read afterwards does. A
   broken upload is tried once more, since it changes nothing of what runs; an installation never is.
5. After it the unit is met anew, since another build may describe itself otherwise; settings and areas
   are held against the sheet as found and put back; then its reports are watched for the dwell time.
6. A unit that is lost is left alone: it is said what stands and what to do.
"""

import asyncio
import contextlib
from dataclasses import replace

from fleet.description.documents import Json
from fleet.description.vocabulary import INSTALL_FIRMWARE, STAGE_FIRMWARE
from fleet.engine.after_update import met_again, put_back, reports_well
from fleet.engine.following_update import LOOK_EVERY_S, Followed, follow
from fleet.engine.installation_values import kept_from, order_for
from fleet.engine.installation_watch import InstallationWatch
from fleet.engine.update_means import UpdateMeans
from fleet.engine.update_refusals import refusal
from fleet.jobs.update_outcomes import Ending, StageLimits
from fleet.jobs.update_time import CHECKED_PPM, installation_ppm
from fleet.jobs.update_words import lost, old_build, read_back, runs_now
from fleet.link.image_server import image_offered
from fleet.link.unit_link import UnitLink
from fleet.link.uploading import flow_to, upload
from fleet.model.errors import LinkError, UnitError, WalkdownError
from fleet.model.firmware import (
    Installation,
    InstallState,
    UnitUpdate,
    UpdateStage,
    UpdateState,
)
from fleet.model.sheets import Sheet

UPLOAD_TRIES = 2
WORTH_TELLING_PPM = 10_000
REFUSED_S = 5.0
"""House seconds within which a unit that refused to install would show that it began all the same."""


class UnitUpdating:
    """One unit's way through an update."""

    def __init__(self, means: UpdateMeans, update: UnitUpdate, as_found: Sheet) -> None:
        """Stand before it; `as_found` is empty where it wasn't begun before."""
        self._means, self._update, self._as_found = means, update, as_found
        self._began_s = means.clock.monotonic_s()
        self._sent_bytes = 0
        self._lost_before_ppm = 0
        self._refused = ""
        self._tried_again = ""
        self._watch = InstallationWatch(self._link, means.clock, self._progress)

    async def install(self) -> UnitUpdate:
        """Update the unit; return how it ended.

        Raises:
            PlanError: the shelf no longer gives the image; nothing was sent.
            InventoryError: what is about to be done can't be kept; nothing more is sent.
        """
        async with contextlib.AsyncExitStack() as stack:
            async with self._means.line:
                begun = await self._begun()
                if isinstance(begun, UnitUpdate):
                    return begun
                await stack.enter_async_context(self._watch.listening())
                await self._watch.look()
                pull = self._means.terms.pull
                told = await (self._fetched(begun) if pull else self._sent_whole(begun))
            if isinstance(told, UnitUpdate):
                return told
            before, limits = told or await self._ordered("")
            return await self._ended(*await self._follow(before, limits))

    async def settle(self) -> UnitUpdate:
        """Find out by reading how a unit stands that was cut off, and bring it to an end.

        Returns:
            The update with its end; waiting again where nothing was installed, in doubt where it can't be
            read.

        Raises:
            InventoryError: what is found can't be kept.
        """
        async with self._watch.listening():
            if not await self._answers():
                said = "it can't be read, so nothing is known of it and nothing is sent to it"
                return self._end(UpdateState.IN_DOUBT, said)
            before, limits = Installation(), self._means.limits
            # Where nothing was ordered, nothing can fail.
            if self._update.stage is UpdateStage.SENDING:
                await self._until_still()
                before = self._watch.latest
                limits = replace(limits, staged=min(limits.staged, REFUSED_S))
            ending, why = await self._follow(before, limits)
            if ending is Ending.NOT_BEGUN:
                return self._wait_again()
            return await self._ended(ending, why)

    async def _begun(self) -> UnitUpdate | bytes:
        """Keep that the unit is begun, return the image; or its end, where something is against it."""
        try:
            reading = await self._means.fleet.read_again(self._update.serial)
            against = await refusal(self._means, self._link(), reading)
        except (LinkError, UnitError) as reason:
            return self._end(UpdateState.REFUSED, f"nothing was sent, it can't be read: {reason}")
        if against is not None:
            return self._end(*against)
        octets = await asyncio.to_thread(self._means.octets)
        self._as_found = reading.sheet
        record = self._means.fleet.records.get(self._update.serial)
        self._lost_before_ppm = (record.lost_ppm or 0) if record else 0
        self._enter(UpdateStage.SENDING, self._as_found)
        return octets

    async def _sent_whole(self, octets: bytes) -> UnitUpdate | None:
        """Send the image; return None, or the unit's end where it didn't get there."""
        trouble = await self._send(octets)
        if not trouble:
            return None
        if await self._answers():
            return await self._stayed(f"the image didn't get there: {trouble}")
        return self._end(UpdateState.NOT_RECOVERED, lost(f"it doesn't answer any more: {trouble}"))

    async def _fetched(self, octets: bytes) -> UnitUpdate | tuple[Installation, StageLimits]:
        """Have the unit fetch and install the image; return once it fetches no more, as `_ordered`."""
        image = self._means.image
        try:
            async with image_offered(self._link(), octets, image.sha256, self._sent) as offered:
                told = await self._ordered(offered.url)
                await self._until_fetched(told[0])
        except LinkError as reason:
            return await self._stayed(str(reason))
        return told

    async def _send(self, octets: bytes) -> str:
        """Send the image until the unit keeps it; return what went wrong, "" for nothing."""
        trouble = ""
        for _ in range(UPLOAD_TRIES):
            link = self._link()
            action = link.need_action(STAGE_FIRMWARE)
            flow = flow_to(link, self._sent)
            try:
                answer = await upload(link, action, octets, flow)
            except UnitError as reason:
                return reason.what.rstrip(".")
            except LinkError as reason:
                trouble = reason.what.rstrip(".")
                self._tried_again = f"; the first upload was broken off ({trouble})"
                if await self._keeps_it():
                    return ""
                continue
            return self._held_against(*kept_from(action, answer))
        return trouble

    def _held_against(self, digest: str, size: int | None) -> str:
        image = self._means.image
        if digest in {"", image.sha256} and size in {None, image.size_bytes}:
            return ""
        return f"what it kept isn't what was sent (digest {digest[:16]}…, {size} bytes)"

    async def _keeps_it(self) -> bool:
        """After a broken upload: say whether the unit has the image all the same."""
        if not await self._answers():
            return False
        await self._until_still()
        now = self._watch.latest
        return now.state is InstallState.STAGED and now.digest == self._means.image.sha256

    async def _ordered(self, url: str) -> tuple[Installation, StageLimits]:
        """Tell the unit to install; return its progress before, and how long to wait for more."""
        await self._watch.look()
        before, limits = self._watch.latest, self._means.limits
        link = self._link()
        action = link.need_action(INSTALL_FIRMWARE)
        argument: Json = order_for(
            action, self._means.image, url=url, backwards=self._means.terms.allow_downgrade
        )
        self._enter(UpdateStage.ORDERED)
        try:
            await link.invoke(action, argument)
        except LinkError:
            return before, limits
        except WalkdownError as reason:
            self._refused = str(reason)
            return before, replace(limits, staged=min(limits.staged, REFUSED_S))
        return before, limits

    async def _follow(self, before: Installation, limits: StageLimits) -> tuple[Ending, str]:
        followed = Followed(self._link, self._means.image, self._as_found, before)
        return await follow(followed, self._watch, self._means.clock, limits)

    async def _ended(self, ending: Ending, why: str) -> UnitUpdate:
        if ending is Ending.NEW_BUILD:
            self._enter(UpdateStage.CHECKING)
            return await self._checked()
        if ending is Ending.LOST:
            return self._end(UpdateState.NOT_RECOVERED, lost(why))
        return await self._stayed(f"{why}: {self._refused}" if self._refused else why)

    async def _checked(self) -> UnitUpdate:
        """Hold a unit that runs the new build against what was found."""
        means, serial, label = self._means, self._update.serial, self._update.label
        runs = runs_now(means.image)
        try:
            await met_again(
                means.inventory, means.fleet, serial, means.clock, means.limits.rebooting
            )
            still, put = await put_back(means.inventory, means.fleet, label, serial, self._as_found)
        except WalkdownError as reason:
            return self._end(
                UpdateState.NOT_RECOVERED, lost(f"{runs}, but can't be read: {reason}")
            )
        if still:
            do = f"Put it back: walkdown restore {label} --to as-found"
            return self._end(UpdateState.NOT_RECOVERED, f"{runs}, but {still}. {do}")
        self._tell(CHECKED_PPM)
        well, said = await reports_well(
            means.fleet,
            serial,
            means.clock,
            dwell_s=means.terms.dwell_s,
            lost_before_ppm=self._lost_before_ppm,
        )
        said = f"{runs}; {read_back(self._as_found, put)}; {said}{self._tried_again}"
        if well:
            return self._end(UpdateState.DONE, f"{said}.")
        do = "Look at its network and power; going back to the old build is a person's decision."
        return self._end(UpdateState.NOT_RECOVERED, f"{said}. {do}")

    async def _stayed(self, why: str) -> UnitUpdate:
        """End with the old build, after reading that settings and areas are as found."""
        means, serial, label = self._means, self._update.serial, self._update.label
        try:
            still, _ = await put_back(means.inventory, means.fleet, label, serial, self._as_found)
        except WalkdownError as reason:
            return self._end(UpdateState.NOT_RECOVERED, lost(f"{why}; it can't be read: {reason}"))
        if still:
            return self._end(UpdateState.NOT_RECOVERED, f"{why}; not all is as found: {still}.")
        version = str(self._as_found.get("build.version", "of before"))
        return self._end(UpdateState.OLD_BUILD, old_build(why.rstrip("."), version))

    async def _answers(self) -> bool:
        """Wait until the unit answers, as long as a restart may take."""
        self._watch.forget()
        while not await self._watch.look():
            if self._watch.silent_s > self._means.limits.rebooting:
                return False
            await self._watch.news(LOOK_EVERY_S)
        return True

    async def _until_still(self) -> None:
        """Wait until a broken upload is over for the unit as well."""
        self._watch.forget()
        limit_s = self._means.limits.fetching
        while self._watch.latest.state is InstallState.FETCHING and self._watch.silent_s < limit_s:
            await self._watch.news(LOOK_EVERY_S)
            await self._watch.look()

    async def _until_fetched(self, before: Installation) -> None:
        """Wait while the unit fetches the image, or doesn't seem to have begun."""
        self._watch.forget()
        while await self._watch.look() and self._watch.silent_s < self._means.limits.fetching:
            if (
                self._watch.latest != before
                and self._watch.latest.state is not InstallState.FETCHING
            ):
                return
            await self._watch.news(LOOK_EVERY_S)

    def _link(self) -> UnitLink:
        return self._means.fleet.link_to(self._update.serial)

    def _sent(self, count: int) -> None:
        self._sent_bytes = count
        self._progress(self._watch.latest)

    def _progress(self, installation: Installation) -> None:
        size = self._means.image.size_bytes
        self._tell(installation_ppm(installation, sent_bytes=self._sent_bytes, size_bytes=size))

    def _tell(self, done_ppm: int) -> None:
        moved_ppm = abs(done_ppm - (self._update.done_ppm or 0))
        if moved_ppm >= WORTH_TELLING_PPM and self._update.state is UpdateState.RUNNING:
            self._update = replace(self._update, done_ppm=done_ppm)
            self._means.tell(self._update)

    def _enter(self, stage: UpdateStage, as_found: Sheet | None = None) -> None:
        self._update = replace(self._update, state=UpdateState.RUNNING, stage=stage)
        self._means.keep(self._update, as_found)

    def _wait_again(self) -> UnitUpdate:
        said = "it was cut off before anything was installed"
        self._update = replace(
            self._update,
            state=UpdateState.WAITING,
            stage=UpdateStage.NONE,
            said=said,
            done_ppm=None,
        )
        self._means.keep(self._update, None)
        return self._update

    def _end(self, state: UpdateState, said: str) -> UnitUpdate:
        took_s = round(self._means.clock.monotonic_s() - self._began_s)
        self._update = replace(self._update, state=state, said=said, took_s=took_s, done_ppm=None)
        self._means.keep(self._update, None)
        return self._update

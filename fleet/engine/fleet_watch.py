"""The units of a visit: met once heard, read, and watched from then on.

1. Keyed by serial, never by address or name. One unit may be heard at two addresses; then its description
   has the same id at both, and the first stays.
2. A second unit that says the same serial is kept aside and told; a person decides which one is meant.
3. Whoever can't be reached is tried again, with waits that grow. Whoever wants a password or shows another
   certificate waits for a person.
4. A goodbye is a hint. Whether a unit lives is told by its reports.
"""

import asyncio
from collections.abc import Awaitable, Callable, Iterable, Mapping
from dataclasses import dataclass

from fleet.engine.live import LiveRecord, ReportListener
from fleet.engine.meeting import Acquaintance
from fleet.engine.reading import read_unit
from fleet.engine.watching import Watched, jittered, watch_unit
from fleet.inventory.inventory import Inventory
from fleet.link.pinning import CertificateChangedError
from fleet.link.refusals import LockedError
from fleet.link.unit_link import UnitLink, access_in_words
from fleet.model.clock import Clock
from fleet.model.errors import LinkError, PlanError, WalkdownError
from fleet.model.meeting import LockedUnit
from fleet.model.reports import Report
from fleet.model.units import Reading, Sighting

FIRST_RETRY_S = 3.0
LONGEST_RETRY_S = 60.0


def _believe(_: Sighting) -> None:
    """Doubt nobody."""


@dataclass(slots=True)
class _Met:
    """A unit that was met: the way to it, where it was met, and the task that watches it."""

    link: UnitLink
    sighting: Sighting
    watching: asyncio.Task[None] | None = None


class FleetWatch:
    """Meets units and keeps watching them.

    Attributes:
        records: serial → live state.
        troubles: address → what went wrong there, in words.
        locked: address → a unit that wants a password.
        changed: address → a unit that shows another certificate than before.
        doubles: serial → address → where another unit says that serial.
        left: serials of units whose advert was taken back.
    """

    def __init__(
        self,
        inventory: Inventory,
        acquaintance: Acquaintance,
        clock: Clock,
        doubt: Callable[[Sighting], None] = _believe,
    ) -> None:
        """Start with nobody met.

        Args:
            inventory: keeps what is read.
            acquaintance: the ways to units.
            clock: stamps receipt.
            doubt: told of each sighting that no unit stands behind.
        """
        self.records: dict[str, LiveRecord] = {}
        self.troubles: dict[str, str] = {}
        self.locked: dict[str, LockedUnit] = {}
        self.changed: dict[str, CertificateChangedError] = {}
        self.doubles: dict[str, dict[str, Sighting]] = {}
        self.left: set[str] = set()
        self._inventory = inventory
        self._acquaintance = acquaintance
        self._clock = clock
        self._doubt = doubt
        self._met: dict[str, _Met] = {}
        self._heard: dict[str, Sighting] = {}
        self._meeting: dict[str, asyncio.Task[None]] = {}
        self._again: dict[str, asyncio.Task[None]] = {}
        self._listeners: list[ReportListener] = []

    async def close(self) -> None:
        """Stop meeting and watching."""
        watching = [met.watching for met in self._met.values() if met.watching]
        tasks = (*watching, *self._meeting.values(), *self._again.values())
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    @property
    def serials(self) -> Iterable[str]:
        """The serials of the units that were met."""
        return self._met.keys()

    @property
    def addresses(self) -> Mapping[str, str]:
        """Serial → the address that a unit was met at."""
        return {serial: met.sighting.url for serial, met in self._met.items()}

    @property
    def access(self) -> Mapping[str, str]:
        """Serial → how a unit that was met lets people in, in words."""
        return {serial: access_in_words(met.link) for serial, met in self._met.items()}

    @property
    def keys(self) -> Mapping[str, tuple[str, ...]]:
        """Serial → all that a secret of a unit that was met may be kept under."""
        return {serial: met.link.keys for serial, met in self._met.items()}

    def listen(self, listener: ReportListener) -> Callable[[], None]:
        """Tell a listener of every report from now on; call what is returned to stop."""
        self._listeners.append(listener)
        return lambda: self._listeners.remove(listener)

    def hear(self, sighting: Sighting) -> None:
        """Take a sighting in: whoever stands behind it is met in the background."""
        self._heard[sighting.url] = sighting
        for serial, met in self._met.items():
            if met.sighting.name == sighting.name:
                self.left.discard(serial)
        self._meet_soon(sighting, FIRST_RETRY_S)

    def hear_goodbye(self, name: str) -> None:
        """Take in that an advert was taken back; its unit goes on being watched."""
        self.left |= {serial for serial, met in self._met.items() if met.sighting.name == name}

    def meet_waiting(self) -> None:
        """Meet again whoever waits for a person: wants a password, or shows another certificate."""
        for url in (*self.locked, *self.changed):
            if url in self._heard:
                self._meet_soon(self._heard[url], FIRST_RETRY_S)

    async def settle_down(self) -> None:
        """Wait until everybody who was heard so far has been tried once."""
        await asyncio.gather(*self._meeting.values(), return_exceptions=True)

    async def meet_by_hand(self, sighting: Sighting) -> str:
        """Meet the unit at an address that a person typed; return its serial.

        Raises:
            LinkError, UnitError: nothing answers there, or no unit.
            PlanError: another unit already goes by that serial.
        """
        self._heard[sighting.url] = sighting
        try:
            return await self._meet(sighting)
        except WalkdownError as reason:
            self._note(sighting.url, reason)
            raise

    async def settle_double(self, serial: str, address: str) -> None:
        """Take the unit at an address as the one that is meant by a serial.

        Raises:
            PlanError: no other unit there says that serial.
            LinkError, UnitError: it can't be read now.
        """
        sighting = self.doubles.get(serial, {}).get(address)
        if sighting is None:
            raise PlanError("no other unit there says that serial.", subject=f"{serial} {address}")
        link, reading = await self._acquaintance.read(sighting)
        if reading.serial != serial:
            raise PlanError(f"it says the serial {reading.serial} now.", subject=address)
        del self.doubles[serial][address]
        before = self._met[serial].sighting
        self.doubles[serial][before.url] = before
        self._forget_troubles(address)
        self._take(link, reading, sighting)

    async def read_again(self, serial: str) -> Reading:
        """Read a unit anew and keep the reading.

        Raises:
            LinkError, UnitError: it can't be read.
        """
        met = self._known(serial)
        reading = await read_unit(met.link, met.sighting.url, self._clock)
        self._inventory.save_reading(reading)
        return reading

    def link_to(self, serial: str) -> UnitLink:
        """Return the way to a unit.

        Raises:
            LinkError: it hasn't been met at this visit.
        """
        return self._known(serial).link

    def _known(self, serial: str) -> _Met:
        met = self._met.get(serial)
        if met is None:
            raise LinkError(
                "it hasn't answered at this visit.",
                subject=serial,
                stands="Nothing was sent to it.",
                next_step="Scan, or add it by address.",
            )
        return met

    def _meet_soon(self, sighting: Sighting, retry_s: float) -> None:
        if sighting.url in self._meeting:
            return
        if waiting := self._again.pop(sighting.url, None):
            waiting.cancel()
        task = asyncio.ensure_future(self._meet_quietly(sighting, retry_s))
        self._meeting[sighting.url] = task
        task.add_done_callback(lambda ended: self._meeting_ended(sighting.url, ended))

    def _meeting_ended(self, url: str, task: asyncio.Task[None]) -> None:
        self._meeting.pop(url, None)
        if not task.cancelled() and (broken := task.exception()) is not None:
            self.troubles[url] = f"{url}: a mistake of this program: {type(broken).__name__}."

    async def _meet_quietly(self, sighting: Sighting, retry_s: float) -> None:
        try:
            await self._meet(sighting)
        except WalkdownError as reason:
            self._note(sighting.url, reason)
            if not isinstance(reason, LinkError | LockedError | PlanError):
                self._doubt(sighting)
            if isinstance(reason, LinkError) and not isinstance(reason, CertificateChangedError):
                again = asyncio.ensure_future(self._meet_later(sighting, retry_s))
                self._again[sighting.url] = again

    async def _meet(self, sighting: Sighting) -> str:
        link, reading = await self._acquaintance.read(sighting)
        if not await self._is_same_elsewhere(reading.serial, link, sighting):
            self._take(link, reading, sighting)
        self._forget_troubles(sighting.url)
        return reading.serial

    def _note(self, url: str, reason: WalkdownError) -> None:
        """Keep why whoever is at an address couldn't be met."""
        self._forget_troubles(url)
        if isinstance(reason, LockedError):
            self.locked[url] = LockedUnit(
                reason.key,
                url,
                reason.subject,
                reason.kinds,
                refused=reason.refused,
                kept_under=reason.kept_under,
            )
            return
        if isinstance(reason, CertificateChangedError):
            self.changed[url] = reason
        self.troubles[url] = str(reason)

    async def _meet_later(self, sighting: Sighting, retry_s: float) -> None:
        await asyncio.sleep(jittered(retry_s))
        self._again.pop(sighting.url, None)
        self._meet_soon(sighting, min(2 * retry_s, LONGEST_RETRY_S))

    def _forget_troubles(self, url: str) -> None:
        for kept in (self.troubles, self.locked, self.changed):
            kept.pop(url, None)

    async def _is_same_elsewhere(self, serial: str, link: UnitLink, sighting: Sighting) -> bool:
        """Say whether a unit that was met already is heard at a second address.

        Raises:
            PlanError: it is another unit that says the same serial.
        """
        before = self._met.get(serial)
        if before is None or before.sighting.url == sighting.url:
            return False
        if not await self._still_there(before, serial):
            return False
        if link.thing.id and link.thing.id == before.link.thing.id:
            return True
        self.doubles.setdefault(serial, {})[sighting.url] = sighting
        raise PlanError(
            f"two units say the serial {serial}: at {before.sighting.url} and at {sighting.url}.",
            stands="Only the first is used.",
            next_step="Find out which of them is the one on the schedule.",
        )

    async def _still_there(self, met: _Met, serial: str) -> bool:
        try:
            reading = await read_unit(met.link, met.sighting.url, self._clock)
        except WalkdownError:
            return False
        return reading.serial == serial

    def _take(self, link: UnitLink, reading: Reading, sighting: Sighting) -> None:
        """Keep a reading and watch the unit, in place of whoever was watched under its serial."""
        serial = reading.serial
        self._inventory.save_sighting(serial, sighting)
        self._inventory.save_reading(reading)
        self.left.discard(serial)
        self.doubles.get(serial, {}).pop(sighting.url, None)
        before = self._met.get(serial)
        if before is not None and before.watching is not None:
            before.watching.cancel()
        met = _Met(link, sighting)
        record = self.records.setdefault(serial, LiveRecord(serial))
        watched = Watched(link, record, self._clock, self._tell)
        met.watching = asyncio.ensure_future(watch_unit(watched))
        self._met[serial] = met

    def _tell(self, serial: str, received_s: float, report: Report) -> None:
        for listener in self._listeners:
            listener(serial, received_s, report)


async def each_quietly(
    serials: Iterable[str], work: Callable[[str], Awaitable[object]]
) -> dict[str, str]:
    """Do something with several units at once; return the serial and reason of each that failed."""
    serials = tuple(serials)
    results = await asyncio.gather(*(work(serial) for serial in serials), return_exceptions=True)
    failed: dict[str, str] = {}
    for serial, result in zip(serials, results, strict=True):
        if isinstance(result, WalkdownError):
            failed[serial] = str(result)
        elif isinstance(result, BaseException):
            raise result
    return failed

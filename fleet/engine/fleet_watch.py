"""The units of a visit: met once heard, read, and watched from then on.

Keyed by serial, never by address or name. A second unit that says the same serial from another address is
not taken for the first: it is told as trouble, and a person decides.
"""

import asyncio
from collections.abc import Awaitable, Callable, Iterable
from dataclasses import dataclass

from fleet.engine.live import LiveRecord, ReportListener
from fleet.engine.reading import read_unit
from fleet.engine.watching import watch_reports
from fleet.inventory.inventory import Inventory
from fleet.link.unit_link import Links, UnitLink
from fleet.model.clock import Clock
from fleet.model.errors import LinkError, PlanError, WalkdownError
from fleet.model.reports import Report
from fleet.model.units import Reading, Sighting


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
    """

    def __init__(self, inventory: Inventory, links: Links, clock: Clock) -> None:
        """Start with nobody met."""
        self.records: dict[str, LiveRecord] = {}
        self.troubles: dict[str, str] = {}
        self._inventory = inventory
        self._links = links
        self._clock = clock
        self._met: dict[str, _Met] = {}
        self._meeting: dict[str, asyncio.Task[str]] = {}
        self._listeners: list[ReportListener] = []

    async def close(self) -> None:
        """Stop meeting and watching."""
        tasks = [met.watching for met in self._met.values() if met.watching]
        for task in (*tasks, *self._meeting.values()):
            task.cancel()
        await asyncio.gather(*tasks, *self._meeting.values(), return_exceptions=True)

    @property
    def serials(self) -> Iterable[str]:
        """The serials of the units that were met."""
        return self._met.keys()

    def listen(self, listener: ReportListener) -> Callable[[], None]:
        """Tell a listener of every report from now on; call what is returned to stop."""
        self._listeners.append(listener)
        return lambda: self._listeners.remove(listener)

    def hear(self, sighting: Sighting) -> None:
        """Take a sighting in: whoever stands behind a new address is met in the background."""
        if sighting.url not in self._meeting:
            task = asyncio.ensure_future(self._meet_quietly(sighting))
            self._meeting[sighting.url] = task
            task.add_done_callback(lambda _: self._meeting.pop(sighting.url, None))

    async def settle_down(self) -> None:
        """Wait until everybody who was heard so far has been met."""
        await asyncio.gather(*self._meeting.values(), return_exceptions=True)

    async def meet(self, sighting: Sighting) -> str:
        """Read the unit behind a sighting, keep the reading, and watch it.

        Returns:
            The serial of the unit.

        Raises:
            LinkError, UnitError: nothing answers there, or no unit.
            PlanError: another unit already goes by that serial.
        """
        link = await self._links.describe(sighting.url, sighting.host)
        reading = await read_unit(link, sighting.url, self._clock)
        await self._refuse_double(reading.serial, sighting)
        self._keep(reading, sighting)
        before = self._met.get(reading.serial)
        if before is not None and before.watching is not None:
            before.watching.cancel()
        met = _Met(link, sighting)
        record = self.records.setdefault(reading.serial, LiveRecord(reading.serial))
        met.watching = asyncio.ensure_future(watch_reports(link, record, self._clock, self._tell))
        self._met[reading.serial] = met
        return reading.serial

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

    def _keep(self, reading: Reading, sighting: Sighting) -> None:
        self.troubles.pop(sighting.url, None)
        self._inventory.save_sighting(reading.serial, sighting)
        self._inventory.save_reading(reading)

    async def _meet_quietly(self, sighting: Sighting) -> str:
        try:
            return await self.meet(sighting)
        except WalkdownError as reason:
            self.troubles[sighting.url] = f"{sighting.name}: {reason}"
            return ""

    async def _refuse_double(self, serial: str, sighting: Sighting) -> None:
        before = self._met.get(serial)
        if before is None or before.sighting.url == sighting.url:
            return
        if await self._still_there(before, serial):
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

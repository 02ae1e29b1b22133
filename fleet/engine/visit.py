"""The running visit: the one place where the parts meet.

A `Visit` lives in one asyncio loop (a worker thread of the workbench, or the command line's own). Faces
read its snapshots from any thread and call its operations in its loop.
"""

import asyncio
from collections.abc import Callable, Collection, Mapping, Sequence
from pathlib import Path

from fleet.description.profiles import Profile
from fleet.description.vocabulary import IDENTIFY
from fleet.discovery.interfaces import interfaces
from fleet.engine.choosing import choose
from fleet.engine.evidence_store import load_lap
from fleet.engine.files import read_plan
from fleet.engine.fleet_watch import each_quietly
from fleet.engine.handing_over import KeySource, issue_record
from fleet.engine.identify_sweep import say_seen, sweep, turns_of
from fleet.engine.labelling import labels_of, write_labels
from fleet.engine.lap_run import LapRun
from fleet.engine.meeting import acquaintance_with
from fleet.engine.operations import OperationBook
from fleet.engine.placing import placed_line
from fleet.engine.publishing import Publisher
from fleet.engine.reception import Place, Reception
from fleet.engine.secrets import Secrets
from fleet.engine.signing_off import accept_room, tick_item
from fleet.engine.unit_works import UnitWorks
from fleet.inventory.inventory import Inventory
from fleet.jobs.swap_signs import SwapKind
from fleet.jobs.swapping import SwapPlan
from fleet.link.credential_store import CredentialStore
from fleet.model.clock import Clock
from fleet.model.credentials import Credential
from fleet.model.errors import PlanError
from fleet.model.house import Room, Signature
from fleet.model.meeting import AddressResult, Diagnosis, Interface
from fleet.model.sheets import Choice, Take, Value
from fleet.model.snapshot import HouseState, Snapshot
from fleet.trials.lap import Stand, lap_route


def _no_tone() -> None:
    """Sound nothing."""


class Visit(UnitWorks):
    """A period on site: units heard, read, watched, put right, walked, signed for and handed over."""

    def __init__(
        self,
        inventory: Inventory,
        clock: Clock,
        *,
        interface: str = "",
        within: str = "",
        key_source: KeySource | None = None,
        secrets: CredentialStore | None = None,
        profiles: Sequence[Profile] = (),
        shelf: Path | None = None,
        at_end: Callable[[], None] | None = None,
    ) -> None:
        """Make a visit; `start` opens its connections.

        Args:
            inventory: open, with its site chosen.
            clock: the house's clock.
            interface: address of the interface to listen on; "" for the machine's default.
            within: only units at addresses of this network count; "" for all.
            key_source: gives the key that signs records; None where none is wanted.
            secrets: where passwords of units are kept; None to keep them for this visit alone.
            profiles: kinds of units without a description of their own, in the order they are tried.
            shelf: folder of a firmware shelf to begin with; None for the last campaign's.
            at_end: called when the visit has stopped, for example to close the inventory.
        """
        self._key_source = key_source
        self._at_end = at_end
        operations = OperationBook()
        self._acquaintance = acquaintance_with(inventory, Secrets(secrets), clock, profiles)
        self._reception = Reception(
            inventory, self._acquaintance, operations, clock, Place(interface, within)
        )
        publisher = Publisher(inventory, self._reception, operations, clock)
        publisher.shelf = str(shelf) if shelf else ""
        super().__init__(inventory, self._reception.fleet, publisher, operations, clock)
        self._lap = LapRun(inventory, self._fleet, self._publisher, self._operations, clock)
        self._publishing: asyncio.Task[None] | None = None

    async def start(self) -> None:
        """Open the visit: load what is known, and begin to publish."""
        if self._inventory.site_name is not None:
            self._publisher.lap = load_lap(self._inventory)
        self._publisher.refresh()
        self._publishing = asyncio.ensure_future(self._publisher.run())

    async def stop(self) -> None:
        """Close every connection, then whatever the owner asked to be closed with the visit."""
        if self._publishing is not None:
            self._publishing.cancel()
            await asyncio.gather(self._publishing, return_exceptions=True)
        await self.stop_works()
        await self._reception.close()
        await self._acquaintance.close()
        if self._at_end is not None:
            self._at_end()

    async def add_site(self, plan_file: Path) -> str:
        """Start a site from a plan file; it becomes the current one. Returns its name.

        Raises:
            PlanError: the file is no plan, or a site of that name is there.
        """
        plan = read_plan(plan_file)
        self._inventory.add_site(plan)
        self._inventory.choose_site(plan.site.name)
        self._publisher.lap = load_lap(self._inventory)
        self._publisher.refresh()
        return plan.site.name

    async def sites(self) -> tuple[str, ...]:
        """Return the names of all sites of the inventory, in the order they were added."""
        return self._inventory.sites()

    async def choose_site(self, name: str) -> None:
        """Make a site the current one; called before `start`, since a visit is to one site.

        Raises:
            PlanError: there is no site of that name.
            InventoryError: it can't be kept.
        """
        self._inventory.choose_site(name)

    def snapshot(self) -> Snapshot:
        """Return the last snapshot; cheap, from any thread."""
        return self._publisher.latest

    def stop_operation(self, key: int) -> None:
        """Ask a running operation to stop after the step that it is at."""
        operation = self._operations.running.get(key)
        if operation is not None:
            operation.stop_asked = True

    async def scan(self, seconds: float) -> int:
        """Listen for adverts, and meet whoever advertises.

        Ends as soon as every unit of the schedule has been met; listening goes on in the background.

        Args:
            seconds: wall seconds to wait at most.

        Returns:
            How many units have been met.

        Raises:
            LinkError: the interface can't be listened on.
        """
        plan = self.snapshot().house.plan
        met = await self._reception.scan(
            seconds, frozenset(line.serial for line in plan.units if line.serial)
        )
        self._publisher.refresh()
        return met

    async def interfaces(self) -> tuple[Interface, ...]:
        """Return the interfaces of this machine that are up."""
        return await asyncio.to_thread(interfaces)

    async def listen_on(self, address: str) -> None:
        """Listen on another interface from now on; "" for all.

        Raises:
            LinkError: it can't be listened on.
        """
        await self._reception.listen_on(address)

    async def add_address(self, url: str, profile: str = "") -> str:
        """Meet the unit at an address; return its serial. See `Reception.add_address`.

        Raises:
            LinkError, UnitError, PlanError: nothing answers there, or no unit.
        """
        try:
            return await self._reception.add_address(url, profile)
        finally:
            self._publisher.refresh()

    async def add_addresses(self, text: str) -> tuple[AddressResult, ...]:
        """Meet whoever is at each address of a pasted list; a line's trouble is told in its result."""
        results = await self._reception.add_addresses(text)
        self._publisher.refresh()
        return results

    async def diagnose(self) -> Diagnosis:
        """Try out why no unit is heard."""
        return await self._reception.diagnose()

    async def keep_secret(self, key: str, secret: Credential) -> None:
        """Keep a secret, and meet whoever waits for it.

        Raises:
            InventoryError, PlanError: it can't be kept; it is used at this visit all the same.
        """
        try:
            await self._reception.keep_secret(key, secret)
        finally:
            self._publisher.refresh()

    async def send_kept_secret(self, kept_under: str, key: str, *, by: str) -> None:
        """Send what is kept under a unit's id to an address as well; see `Reception.send_kept_secret`.

        Raises:
            PlanError: nobody is named, no unit waits there for it, or nothing is kept.
            InventoryError: it can't be kept; it is used at this visit all the same.
        """
        if not by.strip():
            raise PlanError("who says that it is the unit has to be said.", subject=key)
        try:
            await self._reception.send_kept_secret(kept_under, key, by=by)
        finally:
            self._publisher.refresh()

    async def forget_secret(self, key: str) -> None:
        """Forget a secret.

        Raises:
            InventoryError, PlanError: the store can't be opened.
        """
        await self._reception.forget_secret(key)

    async def accept_certificate(self, key: str, *, by: str, reason: str) -> None:
        """Trust the certificate that a unit shows now, in a person's name.

        Raises:
            PlanError: none was refused there at this visit, or nobody is named, or no reason given.
        """
        if not by.strip() or not reason.strip():
            raise PlanError("who accepts it, and why, has to be said.", subject=key)
        await self._reception.accept_certificate(key, by=by, reason=reason)
        self._publisher.refresh()

    async def settle_double(self, serial: str, address: str, *, by: str) -> None:
        """Use the unit at an address for a serial that two units say, and not the other.

        Raises:
            PlanError: no other unit there says that serial.
            LinkError, UnitError: it can't be read now.
        """
        await self._fleet.settle_double(serial, address)
        self._inventory.append("double-settled", serial, {"address": address, "by": by})
        self._publisher.refresh()

    async def read_all(self) -> Mapping[str, str]:
        """Read every unit that was met anew; return serial and reason of each that couldn't be."""
        with self._operations.begin("Read all units"):
            failed = await each_quietly(self._fleet.serials, self._fleet.read_again)
        self._publisher.refresh()
        return failed

    async def identify(self, serial: str, seconds: int) -> None:
        """Have a unit show itself for some seconds.

        Raises:
            LinkError, UnitError: it can't be reached, or can't show itself.
        """
        link = self._fleet.link_to(serial)
        await link.invoke(link.need_action(IDENTIFY), {"seconds": seconds})
        self._inventory.append("identified", serial, {"seconds": seconds})

    async def sweep(
        self, seconds_each: int, labels: Collection[str] = (), tone: Callable[[], None] = _no_tone
    ) -> Mapping[str, str]:
        """Have units show themselves, one after another; return serial and trouble of some.

        Args:
            seconds_each: house seconds for each.
            labels: which; () for all that were met.
            tone: called as each turn begins.
        """
        turns = turns_of(self.snapshot().house.plan, self._fleet.addresses, labels)
        with self._operations.begin("Sweep", can_stop=True) as operation:

            def say(serial: str | None) -> None:
                self._publisher.showing = serial or ""
                self._publisher.prompt = f"{turns[serial]} shows itself." if serial else ""
                if serial:
                    operation.say(turns[serial], list(turns).index(serial) / len(turns))

            return await sweep(
                list(turns),
                self.identify,
                say,
                self._clock,
                seconds_each,
                lambda: operation.stop_asked,
                tone,
            )

    async def say_seen(self, serial: str, *, where_planned: bool, by: str) -> None:
        """Write down where a person saw a unit that showed itself: where the plan says, or elsewhere.

        Raises:
            PlanError: nobody is named.
        """
        plan = self._inventory.plan()
        say_seen(self._inventory, plan, serial, where_planned=where_planned, by=by)

    async def write_labels(self, path: Path, *, start_at: int = 1) -> int:
        """Write the schedule's labels as a PDF for sheets of stickers; return how many.

        Raises:
            RecordError: the file is there, or can't be written.
        """
        labels, demo = labels_of(self._inventory), self._inventory.plan().site.demo
        await asyncio.to_thread(write_labels, labels, path, demo=demo, start_at=start_at)
        return len(labels)

    async def place(
        self, serial: str, room: str, x_mm: int | None = None, y_mm: int | None = None
    ) -> None:
        """Put a unit that was heard into a room, on the wall nearest to a point.

        Raises:
            PlanError: the unit was never read, or there is no such room.
        """
        plan = self._inventory.plan()
        reading = self._inventory.readings().get(serial)
        if reading is None:
            raise PlanError("it was never read.", subject=serial, next_step="Scan first.")
        point = None if x_mm is None or y_mm is None else (x_mm, y_mm)
        self._inventory.save_line(placed_line(plan, reading, room, point), why="placed by hand")
        self._publisher.refresh()

    async def decide(
        self,
        serial: str,
        key: str,
        *,
        keep_found: bool,
        reason: str,
        by: str,
        value: Value | None = None,
    ) -> None:
        """Settle an item that somebody changed on site, in a person's name.

        Args:
            serial, key: the item of a unit.
            keep_found: whether what was found stays; else the unit goes back to the plan.
            reason, by: why, and who says so.
            value: another value that is planned from now on, instead of either.

        Raises:
            PlanError: no reason is given, the item isn't open, or it can't take that value.
        """
        house = self.snapshot().house
        if not any((change.serial, change.key) == (serial, key) for change in house.changes):
            raise PlanError("a decision needs an open item.", subject=f"{serial} {key}")
        take = Take.FOUND if keep_found else Take.PLANNED
        choice = Choice(take if value is None else Take.TYPED, by, reason, value)
        choose(self._inventory, house.units[serial], key, choice)
        self._publisher.refresh()

    async def tick(self, room: str, item: str, *, by: str, said: str = "") -> None:
        """Write down that a person did an item of a room's checklist.

        Raises:
            PlanError: there is no such item, or evidence alone can answer it.
        """
        tick_item(self._inventory, self.snapshot().house, room, item, by=by, said=said)
        self._publisher.refresh()

    async def sign(self, room: str, *, name: str, role: str, exceptions: Mapping[str, str]) -> None:
        """Accept a room in a person's name; its units' sheets as found become as left.

        Raises:
            PlanError: something is neither shown nor excepted, or nobody is named.
        """
        house = self._publisher.refresh()
        accept_room(
            self._inventory,
            house,
            self._room(house, room),
            Signature(name, role, self._clock.now(), dict(exceptions)),
        )
        self._publisher.refresh()

    def route_of(self, room: str) -> tuple[Stand, ...]:
        """Return the route that a person walks in a room during the lap."""
        return lap_route(self._room(self.snapshot().house, room).outline_mm)

    async def walk_room(self, room: str) -> None:
        """Run one room's minute of the lap; call it when the person is there and the doors are shut."""
        await self._lap.walk(self._room(self.snapshot().house, room))

    async def swap(self, plan: SwapPlan, *, by: str, why: str) -> None:
        """Carry a swap out in the inventory, and forget what was walked of the old unit at this visit.

        Raises:
            PlanError: nobody stands for it, or the schedule changed since it was planned.
        """
        await super().swap(plan, by=by, why=why)
        if plan.kind is not SwapKind.RESET:
            self._lap.forget(plan.line.room, plan.before.serial)

    async def finish_lap(self) -> None:
        """Work out what the walked rooms prove, and keep it."""
        await self._lap.finish()

    async def issue(self, folder: Path, *, by: str) -> Path:
        """Issue the hand-over record into a folder; return the folder.

        Raises:
            RecordError: the folder is taken, or the record can't be laid out.
            PlanError: no key to sign with.
        """
        house = self._publisher.refresh()
        with self._operations.begin("Hand-over record"):
            return await issue_record(
                self._inventory, house, self._clock, folder, by=by, key_source=self._key_source
            )

    def refresh(self) -> HouseState:
        """Read the inventory again and return the state that the faces show."""
        return self._publisher.refresh()

    @staticmethod
    def _room(house: HouseState, key: str) -> Room:
        for room in house.plan.rooms:
            if room.key == key:
                return room
        raise PlanError(f"there is no room {key!r}.", next_step="Choose one of the plan's rooms.")

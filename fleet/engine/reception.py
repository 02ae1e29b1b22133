"""Meeting units at a visit: listening, addresses by hand, brokers, passwords, certificates, diagnosis.

1. A scan listens on the chosen interface for adverts of things and of every profile's kind, and at the
   site's brokers; units known from earlier visits are kept out by no flood of adverts.
2. An address by hand is met at once, and each line of a pasted list by itself.
3. A unit that wants a secret is tried once with what is kept for it, and else waits for a person.
"""

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlsplit

from fleet.description.matching import service_types
from fleet.description.origins import origin_of
from fleet.description.profiles import Profile
from fleet.discovery.addresses import read_addresses
from fleet.discovery.choosing import WOT_SERVICE
from fleet.discovery.scanner import Scanner
from fleet.discovery.trying import diagnose
from fleet.engine.broker_watch import BrokerWatch
from fleet.engine.fleet_watch import FleetWatch
from fleet.engine.meeting import BY_PROFILE, Acquaintance
from fleet.engine.operations import OperationBook
from fleet.inventory.inventory import Inventory
from fleet.jobs.expecting import Met
from fleet.jobs.weak_access import weak_access
from fleet.link.connections import description_url
from fleet.link.credential_store import units_sharing
from fleet.model.clock import Clock
from fleet.model.credentials import Credential
from fleet.model.errors import PlanError, WalkdownError
from fleet.model.meeting import AddressResult, ChangedCertificate, Diagnosis
from fleet.model.snapshot import LinkState
from fleet.model.units import Sighting

SCAN_POLL_S = 0.05


@dataclass(frozen=True, slots=True)
class Place:
    """Where a visit listens.

    Attributes:
        interface: address or name of the interface; "" for all that are up.
        within: only units at addresses of this network count; "" for all.
    """

    interface: str = ""
    within: str = ""


def broker_origin(url: str) -> str:
    """Return a broker's address with its port, as it is kept.

    Raises:
        PlanError: it is none.
    """
    try:
        return origin_of(url)
    except ValueError as reason:
        raise PlanError(f"that is no broker: {reason}.", subject=url) from reason


def listened_for(profiles: Sequence[Profile]) -> tuple[str, ...]:
    """Return the service types that units advertise: that of things, and those of profiles."""
    return (WOT_SERVICE, *service_types(profiles))


class Reception:
    """All that a visit does to meet units.

    Attributes:
        place: where it listens.
    """

    def __init__(
        self,
        inventory: Inventory,
        acquaintance: Acquaintance,
        operations: OperationBook,
        clock: Clock,
        place: Place,
    ) -> None:
        """Prepare; nothing is listened to yet."""
        self.place = place
        self.fleet = FleetWatch(inventory, acquaintance, clock, self._doubt)
        self._inventory = inventory
        self._acquaintance = acquaintance
        self._operations = operations
        self._clock = clock
        self._shared: tuple[tuple[str, ...], ...] = ()
        self._scanner = self._new_scanner()
        self._brokers = BrokerWatch(acquaintance, self.fleet.hear)

    async def close(self) -> None:
        """Stop listening, meeting and watching."""
        await self._scanner.close()
        await self._brokers.close()
        await self.fleet.close()

    async def listen_on(self, interface: str) -> None:
        """Listen on another interface from now on; "" for all.

        Raises:
            LinkError: it can't be listened on.
        """
        await self._scanner.close()
        self.place = Place(interface, self.place.within)
        self._scanner = self._new_scanner()
        await self._scanner.open()

    async def scan(self, seconds: float, scheduled: frozenset[str]) -> int:
        """Listen for some wall seconds at most; ends once every scheduled unit has been met.

        Args:
            seconds: wall seconds at most.
            scheduled: serials of the schedule.

        Raises:
            LinkError: the interface can't be listened on.
        """
        with self._operations.begin("Scan", can_stop=True) as operation:
            await self._scanner.open()
            for broker in self._inventory.brokers():
                self._brokers.add(broker)
            polls = max(1, round(seconds / SCAN_POLL_S))
            for poll in range(polls):
                if operation.stop_asked or (scheduled and scheduled <= self.fleet.addresses.keys()):
                    break
                operation.say(f"{len(self.fleet.addresses)} units met", poll / polls)
                await asyncio.sleep(SCAN_POLL_S)
            await self.fleet.settle_down()
        return len(self.fleet.addresses)

    async def add_addresses(self, pasted: str) -> tuple[AddressResult, ...]:
        """Meet whoever is at each address of a pasted list; a line's trouble is told in its result."""
        lines = [
            (item.text, url, item.said)
            for item in read_addresses(pasted)
            for url in item.urls or ("",)
        ]
        with self._operations.begin("Add units by address"):
            return tuple(
                await asyncio.gather(
                    *(self._add_line(text, url, said) for text, url, said in lines)
                )
            )

    async def add_address(self, url: str, profile: str = "") -> str:
        """Meet the unit at an address; return its serial, or the broker's address.

        Args:
            url: where its description lies, or a broker, or just host and port.
            profile: name of the profile that it is of; "" for a unit that describes itself.

        Raises:
            LinkError, UnitError, PlanError: nothing answers there, or no unit.
        """
        if url.startswith(("mqtt:", "mqtts:")):
            broker = broker_origin(url)
            self._inventory.save_broker(broker)
            self._brokers.add(broker)
            return broker
        kind = f"{BY_PROFILE}{profile}" if profile else ""
        sighting = Sighting(url, description_url(url), self._clock.now(), service_type=kind)
        return await self.fleet.meet_by_hand(sighting)

    async def diagnose(self) -> Diagnosis:
        """Try out why no unit is heard."""
        known = [sighting.url for sighting in self._inventory.sightings().values()]
        with self._operations.begin("Find out why nothing is heard"):
            return await diagnose(
                self._clock,
                self.place.interface,
                known,
                len(self._scanner.sightings),
                service_types=listened_for(self._acquaintance.profiles),
            )

    async def keep_secret(self, key: str, secret: Credential) -> None:
        """Keep a secret, and meet whoever waits for it.

        Raises:
            InventoryError, PlanError: it can't be kept; it is used at this visit all the same.
        """
        self._acquaintance.try_again(key)
        try:
            await self._acquaintance.secrets.keep(key, secret)
        finally:
            self.fleet.meet_waiting()
            await self.fleet.settle_down()
        self._shared = await self._acquaintance.secrets.shared()

    async def send_kept_secret(self, kept_under: str, key: str, *, by: str) -> None:
        """Send what is kept under a unit's id to who waits for it, in a person's name; meet that one again.

        Args:
            kept_under: the id.
            key: the origin or the certificate that it is kept under from now on too.
            by: who says that this is the unit.

        Raises:
            PlanError: no unit that waits there says this id, or nothing is kept under it.
            InventoryError: it can't be kept; it is used at this visit all the same.
        """
        secrets = self._acquaintance.secrets
        waits = any(
            (unit.kept_under, unit.key) == (kept_under, key) for unit in self.fleet.locked.values()
        )
        await secrets.fetch((kept_under,))
        kept = secrets.credential_for(kept_under)
        if kept is None or not waits:
            raise PlanError(
                f"nothing is kept under {kept_under} that a unit there waits for.",
                subject=key,
                stands="Nothing was sent.",
                next_step="Scan again; then type what lets us in.",
            )
        self._inventory.append("secret-sent", key, {"kept_under": kept_under, "by": by})
        await self.keep_secret(key, kept)

    async def forget_secret(self, key: str) -> None:
        """Forget a secret.

        Raises:
            InventoryError, PlanError: the store can't be opened.
        """
        await self._acquaintance.secrets.forget(key)
        self._inventory.append("secret-forgotten", key, {})

    async def accept_certificate(self, key: str, *, by: str, reason: str) -> None:
        """Trust the certificate that a unit shows now, in a person's name; then meet it again.

        Raises:
            PlanError: none was refused there at this visit.
        """
        self._acquaintance.links.accept_certificate(key)
        self._inventory.append("certificate-accepted", key, {"by": by, "why": reason})
        self.fleet.meet_waiting()
        await self.fleet.settle_down()

    def met(self, links: Mapping[str, LinkState]) -> Met:
        """Return how far everybody was met.

        Args:
            links: serial → whether its reports arrive.
        """
        fleet = self.fleet
        return Met(
            at=fleet.addresses,
            links=links,
            left=frozenset(fleet.left),
            doubles={serial: tuple(at) for serial, at in fleet.doubles.items()},
            locked=tuple(fleet.locked.values()),
            unread=dict(fleet.troubles),
            known_at={
                serial: sighting.url for serial, sighting in self._inventory.sightings().items()
            },
        )

    def troubles(self) -> tuple[str, ...]:
        """Return what went wrong with whoever was heard, and with brokers, a sentence each."""
        return (*self.fleet.troubles.values(), *self._brokers.troubles.values())

    def certificates(self) -> tuple[ChangedCertificate, ...]:
        """Return who shows another certificate than the one trusted: units, then brokers."""
        changed = {**self.fleet.changed, **self._brokers.changed}
        return tuple(
            ChangedCertificate(one.key, address, one.known, one.shown, str(one))
            for address, one in changed.items()
        )

    def weaknesses(self, labels: Mapping[str, str]) -> tuple[str, ...]:
        """Say what is weak about the ways into units that were met.

        Args:
            labels: serial → label.
        """
        access = {labels.get(serial, serial): words for serial, words in self.fleet.access.items()}
        names = {
            key: labels.get(serial, serial)
            for serial, keys in self.fleet.keys.items()
            for key in keys
        }
        return weak_access(access, [units_sharing(group, names) for group in self._shared])

    async def _add_line(self, text: str, url: str, said: str) -> AddressResult:
        if not url:
            return AddressResult(text, said=said)
        shown = text if url == text else f"{text} ({urlsplit(url).netloc})"
        try:
            return AddressResult(shown, await self.add_address(url))
        except WalkdownError as reason:
            return AddressResult(shown, said=str(reason))

    def _doubt(self, sighting: Sighting) -> None:
        """Make room in the list of adverts: no unit stands behind this one."""
        self._scanner.doubt(sighting)

    def _new_scanner(self) -> Scanner:
        known: Sequence[Sighting] = tuple(self._inventory.sightings().values())
        return Scanner(
            self._clock,
            self.fleet.hear,
            interface=self.place.interface,
            within=self.place.within,
            service_types=listened_for(self._acquaintance.profiles),
            on_goodbye=self.fleet.hear_goodbye,
            expected_hosts=[sighting.host for sighting in known if sighting.host],
            expected_urls=[sighting.url for sighting in known],
        )

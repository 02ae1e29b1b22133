"""Getting to the unit behind a sighting: by its own description, or by the profile of its kind.

1. What is advertised as a thing of the Web of Things describes itself, and so does an address that a
   person typed.
2. Anything else is a unit of the first profile that matches it: the profile's placeholders are filled with
   what the advert, the announcement and the unit itself say, and the outcome is read like any description.
3. An address that a person typed together with a profile's name is of that profile.
"""

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urljoin, urlsplit

from fleet.description.documents import Json, parse_json
from fleet.description.filling import fill
from fleet.description.matching import Announcement, base_url, gather, matches, needed
from fleet.description.profiles import Profile
from fleet.engine.files import schema
from fleet.engine.reading import read_unit
from fleet.engine.secrets import Secrets
from fleet.link.links import Links
from fleet.link.mqtt import Brokers
from fleet.link.pinning import PinBook, Pinning
from fleet.link.refusals import LockedError
from fleet.link.unit_link import UnitLink
from fleet.model.clock import Clock
from fleet.model.errors import InventoryError, LinkError, PlanError, UnitError
from fleet.model.units import Reading, Sighting

THING = "_wot._tcp"
BY_PROFILE = "profile:"
"""Begins the service type of a sighting that a person named a profile for."""
ANNOUNCED = "mqtt:"
"""Begins the service type of a unit that announced itself at a broker; the profile's name follows."""
TOPIC = "topic"
PAYLOAD = "payload"


@dataclass(frozen=True, slots=True)
class Acquaintance:
    """What units can be met by.

    Attributes:
        links: the ways to units.
        brokers: the ways to units behind brokers, the same that `links` uses.
        secrets: what lets us in.
        clock: gives the time of reading.
        profiles: kinds of units without a description; the first that matches counts.
        give_up_s: wall seconds after which a unit that drips is given up.
        behind_broker_s: the same for a unit behind a broker, which says its values one at a time.
    """

    links: Links
    brokers: Brokers
    secrets: Secrets
    clock: Clock
    profiles: Sequence[Profile] = ()
    give_up_s: float = 20.0
    behind_broker_s: float = 60.0

    async def close(self) -> None:
        """Close every connection."""
        await self.links.close()
        await self.brokers.close()

    def try_again(self, key: str) -> None:
        """Let a secret that was refused be tried again, at a unit or a broker: a person's act."""
        self.links.try_again(key)
        self.brokers.try_again(key)

    async def read(self, sighting: Sighting) -> tuple[UnitLink, Reading]:
        """Read whoever stands behind a sighting; where it wants a secret, once more with the one kept.

        Raises:
            LockedError: it wants a secret that isn't kept, or refuses the one that is.
            LinkError, UnitError, PlanError: as `link_behind`.
        """
        try:
            return await self._read_once(sighting)
        except LockedError as reason:
            if reason.refused or not await self._fetched((reason.key, *reason.keys)):
                raise
        return await self._read_once(sighting)

    async def _fetched(self, keys: tuple[str, ...]) -> bool:
        """Fetch what is kept; a store that stays shut has nothing, and the unit waits for a person."""
        try:
            return await self.secrets.fetch(keys)
        except (InventoryError, PlanError):
            return False

    async def _read_once(self, sighting: Sighting) -> tuple[UnitLink, Reading]:
        limit_s = (
            self.behind_broker_s if sighting.service_type.startswith(ANNOUNCED) else self.give_up_s
        )
        try:
            async with asyncio.timeout(limit_s):
                link = await self.link_behind(sighting)
                return link, await read_unit(link, sighting.url, self.clock)
        except TimeoutError:
            pass
        raise LinkError(
            f"it wasn't read within {limit_s:g} s.",
            subject=sighting.name,
            stands="Nothing of it was kept; the other units go on.",
            next_step="It is tried again; look at its power and its network meanwhile.",
        )

    async def link_behind(self, sighting: Sighting) -> UnitLink:
        """Return the way to the unit behind a sighting.

        Raises:
            LinkError: nothing answers there.
            UnitError: what answers is no presence unit, or can't be read.
            PlanError: the profile that a person named isn't there.
        """
        profile = self.profile_of(sighting)
        if profile is None:
            return await self.links.describe(sighting.url, sighting.host)
        return await self._by_profile(profile, sighting)

    def profile_of(self, sighting: Sighting) -> Profile | None:
        """Return the profile that a sighting is of; None for one that describes itself.

        Raises:
            PlanError: the profile that a person named isn't there.
            UnitError: no profile is of its kind.
        """
        kind = sighting.service_type
        if kind in ("", THING):
            return None
        for prefix in (BY_PROFILE, ANNOUNCED):
            if kind.startswith(prefix):
                return self.named(kind.removeprefix(prefix))
        found = next((profile for profile in self.profiles if matches(profile, sighting)), None)
        if found is None:
            raise UnitError(
                f"no profile is of its kind ({kind}).",
                subject=sighting.name,
                stands="Nothing was asked of it.",
                next_step="Write a profile for it; `walkdown profile check` helps.",
            )
        return found

    def named(self, name: str) -> Profile:
        """Return a profile by name.

        Raises:
            PlanError: there is none.
        """
        for profile in self.profiles:
            if profile.name == name:
                return profile
        raise PlanError(
            f"there is no profile {name!r}.",
            stands="Nothing was asked of any unit.",
            next_step="`walkdown profile list` shows which there are.",
        )

    async def _by_profile(self, profile: Profile, sighting: Sighting) -> UnitLink:
        url = base_url(profile, sighting)
        answers: dict[str, Json] = {}
        for path in needed(profile):
            answer = await self.links.fetch(urljoin(url, path))
            answers[path] = parse_json(answer, subject=sighting.name)
        raw = fill(profile, gather(profile, sighting, answers, _announcement(sighting)))
        named = frozenset({urlsplit(url).netloc} if profile.scheme.startswith("mqtt") else ())
        return await self.links.describe_as(raw, url, sighting.host, named)


def acquaintance_with(
    pins: PinBook, secrets: Secrets, clock: Clock, profiles: Sequence[Profile]
) -> Acquaintance:
    """Open the ways to units; call it in the running loop, and close what it returns.

    Args:
        pins: which certificates are trusted.
        secrets: what lets us in.
        clock: dates certificates.
        profiles: kinds of units without a description of their own.
    """
    pinning = Pinning(pins, clock)
    brokers = Brokers(secrets, pinning)
    links = Links(schema("td-1.1"), clock, secrets, pinning, brokers)
    return Acquaintance(links, brokers, secrets, clock, tuple(profiles))


def _announcement(sighting: Sighting) -> Announcement | None:
    if not sighting.service_type.startswith(ANNOUNCED):
        return None
    return Announcement(sighting.txt.get(TOPIC, ""), sighting.txt.get(PAYLOAD, "").encode())

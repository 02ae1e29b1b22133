"""The links of a visit: one way in to every unit, over clients that all of them share."""

from collections.abc import Mapping
from typing import Any

from fleet.link.asking import Means
from fleet.link.connections import Wire
from fleet.link.describing import Describing
from fleet.link.limits import Limits
from fleet.link.pinning import PinBook, Pinning, VisitPins
from fleet.link.refusals import Refusals
from fleet.link.turns import Courtesy
from fleet.link.unit_link import BrokerPort, UnitLink
from fleet.model.clock import Clock
from fleet.model.credentials import CredentialSource


class Links:
    """All links of a visit; open it in the running loop and close it."""

    def __init__(
        self,
        td_schema: Mapping[str, Any],
        clock: Clock | None = None,
        credentials: CredentialSource | None = None,
        pins: PinBook | Pinning | None = None,
        brokers: BrokerPort | None = None,
        limits: Limits | None = None,
    ) -> None:
        """Open the visit's clients.

        Args:
            td_schema: the JSON Schema that descriptions are held against.
            clock: dates certificates and the ages of parts.
            credentials: what lets us into units, by a description's id or its origin.
            pins: certificates that units are known by; without it they are kept for this visit. Where the
                visit's brokers hold certificates too, both are given the same `Pinning`, so that a
                person can accept what either was shown.
            brokers: the visit's brokers, which whoever opened them closes.
            limits: bounds on waits and sizes.
        """
        limits = limits or Limits()
        self._pinning = pins if isinstance(pins, Pinning) else Pinning(pins or VisitPins(), clock)
        self._refusals = Refusals()
        self._wire = Wire(limits, self._pinning)
        self._brokers = brokers
        self._clock = clock
        means = Means(self._wire, Courtesy(limits), self._pinning)
        self._describing = Describing(means, limits, td_schema, credentials, self._refusals)

    async def close(self) -> None:
        """Close every connection but those to brokers."""
        await self._wire.close()

    async def describe(self, url: str, host: str = "") -> UnitLink:
        """Fetch and read a description.

        Args:
            url: where it lies.
            host: the `.local` name that the unit advertises as its own.

        Raises:
            PlanError: that is no address of a unit.
            LinkError: nothing answers there; a `CertificateChangedError` is a matter for a person.
            LockedError: the description itself wants a secret.
            UnitError: what answers is no presence unit, or can't be read.
        """
        thing, asker = await self._describing.described(url, host)
        return UnitLink(thing, asker, self._brokers, self._clock)

    async def describe_as(
        self, raw: bytes, url: str, host: str = "", brokers: frozenset[str] = frozenset()
    ) -> UnitLink:
        """Read a description that was made for a unit which has none of its own.

        Args:
            raw: the description, as a profile fills it.
            url: where the unit is; its requests go to that origin alone.
            host: the `.local` name that the unit advertises as its own.
            brokers: "host:port" of the brokers that it may be spoken to through.

        Raises:
            PlanError, LinkError, UnitError: as for `describe`; over http nothing is asked of it yet.
        """
        thing, asker = await self._describing.given(raw, url, host, brokers)
        return UnitLink(thing, asker, self._brokers, self._clock)

    async def fetch(self, url: str) -> bytes:
        """Return what lies at an address of a unit, within the limits of a description.

        Raises:
            PlanError, LinkError, LockedError, UnitError: as for `describe`.
        """
        return await self._describing.fetched(url)

    def accept_certificate(self, key: str) -> None:
        """Keep the certificate that was refused under a key in place of the known one: a person's act.

        Args:
            key: of the `CertificateChangedError`, or the unit's other key (its id, its origin).

        Raises:
            PlanError: none was refused there at this visit.
        """
        self._pinning.accept(key)

    def try_again(self, key: str) -> None:
        """Let a secret that was refused be tried again: a person's act."""
        self._refusals.forget(key)

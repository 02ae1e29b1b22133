"""Units behind brokers: whoever announces itself there is heard like an advert on the network.

Only brokers that a person named are connected to, one connection each for all their units.
"""

import asyncio
from collections.abc import Callable
from urllib.parse import quote

from fleet.description.matching import announcement_filters, announces
from fleet.engine.meeting import ANNOUNCED, PAYLOAD, TOPIC, Acquaintance
from fleet.engine.watching import LONGEST_WAIT_S, jittered
from fleet.link.pinning import CertificateChangedError
from fleet.model.errors import UnitError, WalkdownError
from fleet.model.units import Sighting

FIRST_WAIT_S = 1.0


class BrokerWatch:
    """Listens at brokers from `add` to `close`.

    Attributes:
        troubles: broker → what went wrong there, in words.
        changed: broker → it shows another certificate than before.
    """

    def __init__(
        self,
        acquaintance: Acquaintance,
        hear: Callable[[Sighting], None],
    ) -> None:
        """Listen nowhere yet.

        Args:
            acquaintance: the connections, and which announcements there may be.
            hear: takes each sighting.
        """
        self.troubles: dict[str, str] = {}
        self.changed: dict[str, CertificateChangedError] = {}
        self._acquaintance = acquaintance
        self._hear = hear
        self._listening: dict[tuple[str, str], asyncio.Task[None]] = {}

    def add(self, broker: str) -> None:
        """Listen at a broker, "mqtt://HOST:PORT"; where it is listened at already, that goes on."""
        for topics in announcement_filters(self._acquaintance.profiles):
            if (broker, topics) not in self._listening:
                task = asyncio.ensure_future(self._listen(broker, topics))
                self._listening[broker, topics] = task

    async def close(self) -> None:
        """Stop listening."""
        for task in self._listening.values():
            task.cancel()
        await asyncio.gather(*self._listening.values(), return_exceptions=True)

    async def _listen(self, broker: str, topics: str) -> None:
        wait_s = FIRST_WAIT_S
        while True:
            try:
                async for topic, payload in self._acquaintance.brokers.announcements(
                    broker, topics
                ):
                    self.troubles.pop(broker, None)
                    self.changed.pop(broker, None)
                    wait_s = FIRST_WAIT_S
                    self._take(broker, topic, payload)
            except WalkdownError as reason:
                self.troubles[broker] = str(reason)
                self.changed.pop(broker, None)
                if isinstance(reason, CertificateChangedError):
                    self.changed[broker] = reason
                if isinstance(reason, UnitError) and await self._fetch_secret(broker):
                    continue
            await asyncio.sleep(jittered(wait_s))
            wait_s = min(2 * wait_s, LONGEST_WAIT_S)

    async def _fetch_secret(self, broker: str) -> bool:
        """Fetch what is kept for a broker that refused us; say whether there was anything new."""
        try:
            return await self._acquaintance.secrets.fetch((broker,))
        except WalkdownError as reason:
            self.troubles[broker] = str(reason)
            return False

    def _take(self, broker: str, topic: str, payload: bytes) -> None:
        profile = next((one for one in self._acquaintance.profiles if announces(one, topic)), None)
        if profile is None or not payload:  # an empty retained message takes an announcement back
            return
        self._hear(
            Sighting(
                name=topic,
                url=f"{broker}/{quote(topic)}",
                heard_at=self._acquaintance.clock.now(),
                service_type=f"{ANNOUNCED}{profile.name}",
                txt={TOPIC: topic, PAYLOAD: payload.decode("utf-8", "replace")},
            )
        )

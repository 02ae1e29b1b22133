"""Who is on the network: adverts heard by mDNS (RFC 6762) and DNS-SD (RFC 6763).

An advert is only a hint where a description may lie; whether a unit stands behind it is for the reader of
the description to say, and a goodbye is a hint as well: a live stream outranks it. How it goes:

1. A name is looked for in the cache first; what is missing is asked for (see `questions`), and the answer
   comes as news of that name.
2. What was heard is kept in bounded room (see `heard_names`).
3. Every other second the scanner looks whether its interfaces are still the same ones, and listens anew
   where they aren't; and whether an address that stood beside another one has gone since.
4. A flood of names makes the library's own lists grow for hours; after so many it is opened anew.
"""

import asyncio
import contextlib
import ipaddress
from collections.abc import Callable, Iterable, Mapping, Sequence
from types import TracebackType
from typing import Self

from zeroconf import ServiceStateChange, Zeroconf

from fleet.discovery.cached import Told, told
from fleet.discovery.choosing import WOT_SERVICE, url_of
from fleet.discovery.heard_names import HeardNames
from fleet.discovery.interfaces import interfaces
from fleet.discovery.listening import Listening, listen
from fleet.discovery.questions import Questions
from fleet.discovery.standpoint import Standpoint, standpoint
from fleet.discovery.text_records import read_text_record, shown, texts_of
from fleet.model.clock import Clock
from fleet.model.errors import LinkError
from fleet.model.meeting import Interface
from fleet.model.units import Sighting

SERVICE_TYPE = f"{WOT_SERVICE}.local."
LOOK_EVERY_S = 2.0  # wall time; an interface that comes back is listened on within this
RENEW_AFTER = 20_000
"""New names after which the library is opened anew: each holds about 1 KiB of its lists for an hour."""


class Scanner:
    """Listens for adverts from `open` to `close`.

    Attributes:
        interface: what was chosen: an address or a name of an interface, "" for all that are up.
    """

    def __init__(
        self,
        clock: Clock,
        on_sighting: Callable[[Sighting], None],
        *,
        interface: str = "",
        within: str = "",
        service_types: Sequence[str] = (WOT_SERVICE,),
        on_goodbye: Callable[[str], None] | None = None,
        expected_hosts: Iterable[str] = (),
        expected_urls: Iterable[str] = (),
        look: Callable[[], tuple[Interface, ...]] = interfaces,
        look_every_s: float = LOOK_EVERY_S,
    ) -> None:
        """Prepare a scanner.

        Args:
            clock: stamps sightings.
            on_sighting: called in the loop for each sighting, again when its address changes.
            interface: address or name of the interface to listen on.
            within: only addresses of this network count, for example "127.9.1.4/32"; "" for all.
            service_types: what is listened for, for example "_wot._tcp".
            on_goodbye: called in the loop with the instance name of an advert that was taken back.
            expected_hosts: `.local` names of units known from earlier; no flood keeps them out.
            expected_urls: where their descriptions lay.
            look: says which interfaces are up.
            look_every_s: wall seconds from one look to the next.
        """
        self.interface = interface
        self._clock = clock
        self._on_sighting = on_sighting
        self._on_goodbye = on_goodbye
        self._within = ipaddress.ip_network(within) if within else None
        self._types = [f"{kind}.local." for kind in service_types]
        self._look = look
        self._look_every_s = look_every_s
        self._heard = HeardNames()
        self._heard.expect(expected_hosts, expected_urls)
        self._questions = Questions(self._send)
        self._unsettled: dict[str, tuple[str, str]] = {}
        self._new_names = 0
        self._standpoint = Standpoint()
        self._listening: Listening | None = None
        self._looking: asyncio.Task[None] | None = None
        self._closing = asyncio.Event()

    @property
    def present(self) -> tuple[Interface, ...]:
        """The interfaces that are listened on now; none while the chosen one is away."""
        return self._standpoint.present

    @property
    def sightings(self) -> Mapping[str, Sighting]:
        """Full advert name in lower case → the last sighting of it."""
        return self._heard.sightings

    @property
    def goodbyes(self) -> frozenset[str]:
        """Instance names that were taken back and not heard since; anybody can take back any name."""
        return self._heard.gone

    @property
    def disputed(self) -> frozenset[str]:
        """Instance names that more than one machine seems to claim."""
        return self._heard.disputed

    @property
    def refused(self) -> int:
        """How many adverts were left out because there are too many."""
        return self._heard.refused

    def expect(self, hosts: Iterable[str] = (), urls: Iterable[str] = ()) -> None:
        """Add units known from earlier: no flood keeps them out."""
        self._heard.expect(hosts, urls)

    def doubt(self, sighting: Sighting) -> None:
        """Say that no unit was found behind a sighting: it is the first to make room."""
        for key, known in self._heard.sightings.items():
            if known.url == sighting.url:
                self._heard.doubt(key)

    async def open(self) -> None:
        """Start listening; where it listens already, it goes on.

        Raises:
            LinkError: the interface that was chosen can't be listened on.
        """
        if self._looking is not None:
            return
        try:
            self._take_stand()
            self._listen()
            reason = "this machine has no such interface, or it is down"
        except OSError as error:
            reason = str(error)
        if self._listening is None and self.interface:
            raise LinkError(
                f"can't listen for units on {self.interface}: {reason}.",
                next_step="Choose another interface, or add units by address.",
            )
        self._looking = asyncio.ensure_future(self._keep_looking())

    async def close(self) -> None:
        """Stop listening; may be called twice."""
        looking, self._looking = self._looking, None
        if looking is not None:
            self._closing.set()
            await looking
            self._closing.clear()
        await self._stop_listening()

    async def __aenter__(self) -> Self:
        """Open."""
        await self.open()
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close."""
        await self.close()

    def _listen(self) -> None:
        self._new_names = 0
        if self._standpoint.ears:
            self._listening = listen(self._standpoint.ears, self._types, self._hear)
            self._questions.start()

    def _take_stand(self) -> None:
        self._standpoint = standpoint(self.interface, self._look(), self._standpoint)

    def _send(self, names: Sequence[str], *, first: bool) -> None:
        if self._listening is not None:
            self._listening.ask(names, first=first)

    async def _stop_listening(self) -> None:
        listening, self._listening = self._listening, None
        if listening is not None:
            await listening.close()
        await self._questions.stop()

    async def _keep_looking(self) -> None:
        while not await self._is_closed_within(self._look_every_s):
            # What fails while an interface is coming or going is done at the next look.
            with contextlib.suppress(OSError):
                self._take_stand()
                await self._listen_anew_if_needed()
            self._look_again()

    async def _listen_anew_if_needed(self) -> None:
        listened = self._listening.ears if self._listening else ()
        if self._standpoint.ears != listened or self._new_names > RENEW_AFTER:
            await self._stop_listening()
            self._listen()

    async def _is_closed_within(self, seconds: float) -> bool:
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                await self._closing.wait()
        return self._closing.is_set()

    def _look_again(self) -> None:
        if self._listening is not None:
            for key, (service_type, name) in tuple(self._unsettled.items()):
                if key in self._heard:
                    self._look_at(self._listening.zeroconf.zeroconf, service_type, name)
                else:
                    del self._unsettled[key]

    def _hear(
        self, zeroconf: Zeroconf, service_type: str, name: str, state_change: ServiceStateChange
    ) -> None:
        if not name.lower().endswith(f".{service_type.lower()}"):
            return  # a pointer may lead anywhere, and this one doesn't lead to an instance of its type
        if state_change is ServiceStateChange.Removed:
            self._take_leave(name)
            return
        self._new_names += state_change is ServiceStateChange.Added
        asked = self._questions.was_asked(name)
        if self._look_at(zeroconf, service_type, name, text_needed=not asked):
            self._questions.answered(name)
        else:
            self._questions.want(name, known=name.lower() in self._heard)

    def _take_leave(self, name: str) -> None:
        sighting = self._heard.leave(name.lower())
        if sighting is not None and self._on_goodbye is not None:
            self._on_goodbye(sighting.name)

    def _look_at(
        self, zeroconf: Zeroconf, service_type: str, name: str, *, text_needed: bool = True
    ) -> bool:
        """Take in what the cache says about a name; return whether it says all that is needed."""
        said = told(zeroconf, name, text_needed=text_needed)
        if said is None:
            return False
        key = name.lower()
        sighting = self._sighting(said, service_type, name)
        if sighting is None:
            return True
        news = self._heard.take(key, sighting, self._clock.monotonic_s() / self._clock.speed)
        self._unsettled.pop(key, None)
        if key in self._heard and (not said.settled or self._heard.is_disputed(key)):
            self._unsettled[key] = (service_type, name)
        if news:
            self._on_sighting(sighting)
        return True

    def _sighting(self, said: Told, service_type: str, name: str) -> Sighting | None:
        record = read_text_record(said.text)
        kind = service_type.removesuffix(".local.")
        url = url_of(
            said,
            kind,
            record,
            networks=self._standpoint.networks,
            scope=self._standpoint.scope,
            within=self._within,
            before=self._heard.url_of(name.lower()),
        )
        if not url:
            return None
        instance = shown(name[: -len(service_type) - 1])
        return Sighting(instance, url, self._clock.now(), said.host, kind, texts_of(record))

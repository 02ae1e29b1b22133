"""Asking for what is missing of the names that were heard: many names a packet, a few packets at a time.

A question for each name alone overflows the socket when a whole building answers; one packet asks for
many (RFC 6762 §5.3), and the next one goes out when it was answered, or soon after. What isn't answered is
asked again after growing pauses and then left until it is heard of anew. The first question may be
answered to us alone and so be lost to another program on our port; the second comes soon, the others a
second or more apart (RFC 6762 §5.2). Names that were heard before go first, and strangers can't crowd them
out.
"""

import asyncio
import contextlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

NAMES_AT_ONCE = 40
PACE_S = 0.03  # wall time; a machine nearby answers within this, and who doesn't holds nobody up
# Wall time before each further question; after the first as the first.
PAUSES_S = (
    0.25,
    1.0,
    3.0,
    9.0,
)
MAX_STRANGERS = 256


class Send(Protocol):
    """Puts a question for some names on the network; `first` where none was asked for before."""

    def __call__(self, names: Sequence[str], *, first: bool) -> None:
        """Send it."""
        ...


@dataclass(slots=True)
class _Wanted:
    name: str
    known: bool
    asked: int = 0


class Questions:
    """Names that wait for an answer, from `start` to `stop`."""

    def __init__(self, send: Send) -> None:
        """Prepare; `send` puts the question for some names on the network."""
        self._send = send
        self._wanted: dict[str, _Wanted] = {}
        self._due: dict[bool, dict[str, None]] = {True: {}, False: {}}
        self._stir = asyncio.Event()
        self._asking: asyncio.Task[None] | None = None

    def start(self) -> None:
        """Begin to ask."""
        self._asking = asyncio.ensure_future(self._keep_asking())

    async def stop(self) -> None:
        """Ask for nothing more, and forget what was wanted."""
        self._wanted.clear()
        asking, self._asking = self._asking, None
        if asking is not None:
            asking.cancel()
            await asyncio.gather(asking, return_exceptions=True)

    def want(self, name: str, *, known: bool) -> None:
        """Ask for a full name; a stranger's only while not too many are waited for."""
        key = name.lower()
        if key in self._wanted or (not known and len(self._wanted) >= MAX_STRANGERS):
            return
        self._wanted[key] = _Wanted(name, known)
        self._make_due(key)

    def answered(self, name: str) -> None:
        """Take a name off: all is known of it."""
        if self._wanted.pop(name.lower(), None) is not None:
            self._stir.set()

    def was_asked(self, name: str) -> bool:
        """Tell whether a name that is waited for was asked for before."""
        wanted = self._wanted.get(name.lower())
        return wanted is not None and wanted.asked > 0

    def _make_due(self, key: str) -> None:
        wanted = self._wanted.get(key)
        if wanted is not None:
            self._due[wanted.known][key] = None
            self._stir.set()

    async def _keep_asking(self) -> None:
        while True:
            await self._stir.wait()
            self._stir.clear()
            while batch := self._next_batch():
                first = all(wanted.asked == 0 for wanted in batch)
                self._send([wanted.name for wanted in batch], first=first)
                await self._answered_soon(batch)
                self._ask_again_later(batch)

    def _next_batch(self) -> list[_Wanted]:
        batch: list[_Wanted] = []
        for due in (self._due[True], self._due[False]):
            while due and len(batch) < NAMES_AT_ONCE:
                wanted = self._wanted.get(due.popitem()[0])
                if wanted is not None:
                    batch.append(wanted)
        return batch

    async def _answered_soon(self, batch: Sequence[_Wanted]) -> None:
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(PACE_S):
                while any(self._is_wanted(each) for each in batch):
                    await self._stir.wait()
                    self._stir.clear()

    def _ask_again_later(self, batch: Sequence[_Wanted]) -> None:
        for wanted in batch:
            if not self._is_wanted(wanted):
                continue
            key = wanted.name.lower()
            if wanted.asked == len(PAUSES_S):
                del self._wanted[key]
                continue
            pause_s = PAUSES_S[wanted.asked]
            wanted.asked += 1
            asyncio.get_running_loop().call_later(pause_s, self._make_due, key)

    def _is_wanted(self, wanted: _Wanted) -> bool:
        return self._wanted.get(wanted.name.lower()) is wanted

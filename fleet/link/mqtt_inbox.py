"""Where messages wait for whoever listens, in bounded number and size."""

import asyncio
from collections import deque

from fleet.link.mqtt_limits import BrokerLimits


class Inbox:
    """Messages of one filter for one listener.

    A listener that is slow loses the oldest message, never the newest: what stands now is what counts.

    Attributes:
        heard: what it listens to: a topic, or a filter with wildcards.
        qos: the quality of service that is asked for.
        retained: it wants values that the broker kept from before, and not only what is published now.
        dropped: how many messages were dropped because the listener was slow.
        oversize: how many were longer than may be.
        filled_by: the connection that it is subscribed on, None before the first.
    """

    def __init__(
        self, heard: str, limits: BrokerLimits, *, qos: int, retained: bool, limit_bytes: int
    ) -> None:
        """Start with nothing in it.

        Args:
            heard, qos, retained: see the attributes.
            limits: how much may wait.
            limit_bytes: the longest message.
        """
        self.heard = heard
        self.qos = qos
        self.retained = retained
        self.dropped = 0
        self.oversize = 0
        self.filled_by: object = None
        self._limits = limits
        self._limit_bytes = limit_bytes
        self._waiting: deque[tuple[str, bytes]] = deque()
        self._bytes = 0
        self._stirred = asyncio.Event()

    def put(self, topic: str, payload: bytes, *, clipped: bool = False) -> None:
        """Take a message in.

        Args:
            topic, payload: the message.
            clipped: it is the beginning of one that was far too long.
        """
        self._stirred.set()
        if clipped or len(payload) > self._limit_bytes:
            self.oversize += 1
            return
        self._waiting.append((topic, payload))
        self._bytes += len(payload)
        while self._is_full():
            self._bytes -= len(self._waiting.popleft()[1])
            self.dropped += 1

    def interrupt(self) -> None:
        """Wake the listener though there is no message."""
        self._stirred.set()

    async def take(self) -> list[tuple[str, bytes]]:
        """Return all that waits, in order; nothing where the listener was only woken."""
        await self._stirred.wait()
        self._stirred.clear()
        taken = list(self._waiting)
        self._waiting.clear()
        self._bytes = 0
        return taken

    def _is_full(self) -> bool:
        many = len(self._waiting) > self._limits.waiting
        return many or (self._bytes > self._limits.waiting_bytes and len(self._waiting) > 1)

"""Event streams of one unit: who listens to which property; and what else a restart cuts.

An event is written once and handed to every listener's transport at once. A listener whose buffer
grows past its limit is dropped: a slow reader costs its own connection, never the simulator's memory.
"""

import asyncio
from dataclasses import dataclass, field

from fleet.simulator.writing import chunk_bytes, event_bytes

MOST_UNREAD_BYTES = 1 << 18


@dataclass(slots=True, eq=False)
class Listener:
    """One open stream.

    Attributes:
        transport: its connection.
        chunked: HTTP/1.1, where each event is a chunk.
        over: set when the stream has to end.
    """

    transport: asyncio.WriteTransport
    chunked: bool
    over: asyncio.Event = field(default_factory=asyncio.Event)

    def drop(self) -> None:
        """Cut the connection without a goodbye."""
        self.transport.abort()
        self.over.set()


@dataclass(slots=True)
class Streams:
    """The open streams of a unit by property or event.

    Attributes:
        listeners: by the name of what they listen to.
        dropped: how many read too slowly.
        held: connections over which an image comes.
    """

    listeners: dict[str, set[Listener]] = field(default_factory=dict)
    dropped: int = 0
    held: set[asyncio.WriteTransport] = field(default_factory=set)

    def listening(self, name: str) -> bool:
        """Say whether anybody listens to a property."""
        return bool(self.listeners.get(name))

    def add(self, name: str, listener: Listener) -> None:
        """Open a stream."""
        self.listeners.setdefault(name, set()).add(listener)

    def remove(self, name: str, listener: Listener) -> None:
        """Forget a stream that has ended."""
        self.listeners.get(name, set()).discard(listener)

    def send(self, name: str, event_id: str, data: str) -> None:
        """Send one event to all who listen to a property."""
        listeners = self.listeners.get(name)
        if not listeners:
            return
        plain = event_bytes(name, event_id, data)
        chunk = chunk_bytes(plain)
        for listener in tuple(listeners):
            transport = listener.transport
            if transport.is_closing() or transport.get_write_buffer_size() > MOST_UNREAD_BYTES:
                self.dropped += 1
                listeners.discard(listener)
                listener.drop()
            else:
                transport.write(chunk if listener.chunked else plain)

    def cut_held(self) -> None:
        """Cut the connections over which an image comes."""
        for transport in tuple(self.held):
            transport.abort()

    def reset(self) -> None:
        """Cut every stream and what else is held, as a unit does that restarts."""
        self.cut_held()
        for listeners in self.listeners.values():
            for listener in listeners:
                listener.drop()
        self.listeners.clear()

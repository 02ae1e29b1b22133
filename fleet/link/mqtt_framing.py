"""The socket that the protocol's client reads from: in large pieces, and never a packet too long.

A packet of MQTT (3.1.1 and 5.0, §2.1) is one byte of kind, one to four bytes of length, and as many
bytes as these say: up to 256 MiB, which the client beneath would all keep. And a broker passes on
whatever one unit publishes, so that one broken unit would end the connection that hundreds share.

1. A packet above the limit is clipped: the client gets its beginning under a shorter length, and the
   rest is read and thrown away. So the topic of a message and its number still arrive, it can be
   acknowledged, and the stream goes on behind it. `clipped` says so while that packet is handled.
2. Bytes are fetched 16 KiB at a time; `pending` says how many wait here, since the operating system
   won't announce them a second time.
3. What is thrown away is read a bounded number of pieces in a row: the loop belongs to others as well.
"""

import socket
import ssl

_PIECE_BYTES = 1 << 14
_PIECES_IN_A_ROW = 16
_GOES_ON = 0x80
_LONGEST_HEAD_BYTES = 5


class BoundedSocket:
    """A connected, non-blocking socket with a limit on packets.

    Attributes:
        clipped: the packet that was last handed out is the beginning of a longer one.
    """

    def __init__(self, connected: socket.socket, limit_bytes: int) -> None:
        """Take over a socket.

        Args:
            connected: from here on closed by `close`.
            limit_bytes: the longest packet that is handed out whole, its head not counted.
        """
        self.clipped = False
        self._socket = connected
        self._limit_bytes = limit_bytes
        self._piece = b""
        self._at = 0
        self._coming = bytearray()
        self._head = b""
        self._body_bytes = 0
        self._excess_bytes = 0

    def recv(self, size: int) -> bytes:
        """Return up to `size` bytes of the packets; b"" at the end.

        Raises:
            BlockingIOError, ssl.SSLWantReadError: nothing is there now.
            ConnectionError: what comes is no MQTT.
        """
        if not self._head and not self._body_bytes and not self._begin():
            return b""
        if self._head:
            taken, self._head = self._head[:size], self._head[size:]
            return taken
        taken = self._take(min(size, self._body_bytes))
        self._body_bytes -= len(taken)
        return taken

    def send(self, data: bytes) -> int:
        """Send what fits in and return how many bytes that was."""
        return self._socket.send(data)

    def close(self) -> None:
        """Close it."""
        self._socket.close()

    def fileno(self) -> int:
        """Return the operating system's number, -1 once it is closed."""
        return self._socket.fileno()

    def setblocking(self, flag: bool) -> None:  # noqa: FBT001 (a socket's own signature)
        """Pass on to the socket."""
        self._socket.setblocking(flag)

    def pending(self) -> int:
        """Return how many bytes wait that the operating system knows nothing of any more."""
        inside = self._socket.pending() if isinstance(self._socket, ssl.SSLSocket) else 0
        return len(self._piece) - self._at + inside

    def _begin(self) -> bool:
        """Read the head of the next packet; False at the end of the stream."""
        self._discard()
        while len(self._coming) < 2 or self._coming[-1] & _GOES_ON:  # noqa: PLR2004 (kind and length)
            if len(self._coming) == _LONGEST_HEAD_BYTES:
                raise ConnectionError("the length of a packet has no end")
            byte = self._take(1)
            if not byte:
                return False
            self._coming += byte
        said = sum((byte & 0x7F) << 7 * place for place, byte in enumerate(self._coming[1:]))
        self._body_bytes = min(said, self._limit_bytes)
        self._excess_bytes = said - self._body_bytes
        self.clipped = self._excess_bytes > 0
        self._head = bytes(self._coming[:1]) + _written_length(self._body_bytes)
        self._coming = bytearray()
        return True

    def _discard(self) -> None:
        for _ in range(_PIECES_IN_A_ROW):
            if not self._excess_bytes:
                return
            thrown = len(self._take(min(self._excess_bytes, _PIECE_BYTES)))
            if not thrown:
                return
            self._excess_bytes -= thrown
        raise BlockingIOError

    def _take(self, size: int) -> bytes:
        if self._at == len(self._piece):
            self._piece, self._at = self._socket.recv(_PIECE_BYTES), 0
        taken = self._piece[self._at : self._at + size]
        self._at += len(taken)
        return taken


def _written_length(value: int) -> bytes:
    """Write a length as the protocol does: seven bits a byte, the lowest first."""
    written = bytearray()
    while value >= _GOES_ON:
        written.append(value & 0x7F | _GOES_ON)
        value >>= 7
    written.append(value)
    return bytes(written)

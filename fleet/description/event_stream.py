"""Server-sent events, WHATWG HTML §9.2, from bytes as they arrive.

1. Lines end in LF, CR LF or CR; a byte order mark at the very start is skipped.
2. A blank line ends an event. Its `data` lines are joined by LF; an event without any is none, but
   its `id` still counts. `id` holds until another comes; one with NUL in it is ignored; a bare `id`
   resets it. `retry` counts if it is digits only. Unknown fields and comments are skipped.
3. What stands after the last blank line when the stream ends was never sent whole, and is dropped.
4. Nearly every arrival is one usual event, which is matched at once. Of the others the work is done a whole
   event at a time by splitting on blank lines, not byte by byte. What isn't ended yet is kept, up to a
   limit; comments between events, which keep a connection open for days, don't count against it.
"""

import re

import msgspec

from fleet.description.limits import MAX_EVENT_BYTES, MAX_RETRY_DIGITS
from fleet.model.errors import UnitError

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"
_COMMENT = re.compile(rb"^:[^\n]*\n", re.MULTILINE)
_DEFAULT_NAME = "message"
_USUAL = re.compile(rb"(?:event: ([^\n ][^\n]*)\n)?(?:id: ([^\n\0 ][^\n\0]*)\n)?data: ([^\n]*)\n\n")
"""A whole event as nearly every one is: at most a name, an id, and one line of data, none ended by CR."""


class StreamEvent(msgspec.Struct, frozen=True, gc=False):
    """One event; a struct, since making thousands a second of them counts.

    Attributes:
        name: its `event` field; "message" where it has none.
        data: its data lines joined by LF, bytes as they came: bad UTF-8 is the reader's to judge.
        id: what to send as Last-Event-ID to go on after it; "" where there is none.
    """

    name: str
    data: bytes
    id: str


class EventStreamDecoder:
    """Turns the bytes of one connection into events.

    Attributes:
        last_event_id: what to send as Last-Event-ID when connecting again.
        retry_ms: how long the unit asks to wait before that, or None.
    """

    def __init__(
        self, last_event_id: str = "", limit_bytes: int = MAX_EVENT_BYTES, *, subject: str = ""
    ) -> None:
        """Start at the head of a stream.

        Args:
            last_event_id: from the connection before, which goes on holding.
            limit_bytes: the longest event that is waited for.
            subject: whose stream it is, for the error.
        """
        self.last_event_id = last_event_id
        self.retry_ms: int | None = None
        self._limit_bytes = limit_bytes
        self._subject = subject
        self._head: bytes | None = b""
        self._rest = bytearray()
        self._skip_line_feed = False

    def feed(self, chunk: bytes) -> list[StreamEvent]:
        """Take the next bytes; return the events that they complete.

        Raises:
            UnitError: an event is longer than the limit.
        """
        between = not self._rest and self._head is None and not self._skip_line_feed
        if between and len(chunk) <= self._limit_bytes and b"\r" not in chunk:
            usual = _USUAL.fullmatch(chunk)
            if usual is not None:
                return [self._usual_event(*usual.groups())]
        seen = max(len(self._rest) - 1, 0)
        self._rest += self._lines(self._begun(chunk))
        blocks: list[bytes] = []
        # What was looked through before isn't again: an event that drips in costs no more.
        if self._rest.find(b"\n\n", seen) >= 0:
            *blocks, rest = bytes(self._rest).split(b"\n\n")
            self._rest = bytearray(rest)
        self._hold_limit(blocks)
        return [event for event in map(self._event, blocks) if event is not None]

    def _begun(self, chunk: bytes) -> bytes:
        """Return the bytes without a byte order mark; nothing while it isn't sure that there is one."""
        if self._head is None:
            return chunk
        head = self._head + chunk
        if len(head) < len(_BYTE_ORDER_MARK) and _BYTE_ORDER_MARK.startswith(head):
            self._head = head
            return b""
        self._head = None
        return head.removeprefix(_BYTE_ORDER_MARK)

    def _lines(self, chunk: bytes) -> bytes:
        """Return the bytes with every line end as LF."""
        if self._skip_line_feed and chunk:
            chunk = chunk.removeprefix(b"\n")
            self._skip_line_feed = False
        if b"\r" not in chunk:
            return chunk
        # A CR ends its line at once; an LF that follows in the next chunk belongs to it.
        self._skip_line_feed = chunk.endswith(b"\r")
        return chunk.replace(b"\r\n", b"\n").replace(b"\r", b"\n")

    def _hold_limit(self, blocks: list[bytes]) -> None:
        if len(self._rest) > self._limit_bytes:
            self._rest = bytearray(_COMMENT.sub(b"", self._rest))
        longest = max(len(part) for part in (*blocks, self._rest))
        if longest > self._limit_bytes:
            self._rest = bytearray()
            raise UnitError(
                f"its event stream sent {longest} bytes without an end of the event.",
                subject=self._subject,
                stands="The stream was closed; nothing of that event was used.",
                next_step="It is opened again; if that stays, the unit's build is at fault.",
            )

    def _usual_event(self, name: bytes | None, event_id: bytes | None, data: bytes) -> StreamEvent:
        if event_id is not None:
            self.last_event_id = event_id.decode("utf-8", "replace")
        named = name.decode("utf-8", "replace") if name else _DEFAULT_NAME
        return StreamEvent(named, data, self.last_event_id)

    def _event(self, block: bytes) -> StreamEvent | None:
        data: list[bytes] = []
        name = _DEFAULT_NAME
        for line in block.split(b"\n"):
            field, _, value = line.partition(b":")
            value = value.removeprefix(b" ")
            if field == b"data":
                data.append(value)
            elif field == b"event":
                name = value.decode("utf-8", "replace") or _DEFAULT_NAME
            elif field == b"id" and b"\0" not in value:
                self.last_event_id = value.decode("utf-8", "replace")
            elif field == b"retry" and value.isdigit() and len(value) <= MAX_RETRY_DIGITS:
                self.retry_ms = int(value)
        return StreamEvent(name, b"\n".join(data), self.last_event_id) if data else None

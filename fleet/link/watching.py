"""Values as they arrive over HTTP, each way as one iterator over arrivals.

1. A stream that says nothing whole for too long is given up: bytes that drip in, or comments alone on a
   stream of reports, are no sign of life.
2. A long poll that stays open without news isn't a failure, and is asked again. One that answers at once,
   though nothing says that it is one, is only read, at the pace of polling.
3. No way but numbered reports shows what was lost, so nothing is said about it here.
"""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable

import aiohttp

from fleet.description.event_stream import EventStreamDecoder
from fleet.description.limits import MAX_REPORT_BYTES
from fleet.description.requests import Request
from fleet.link.arrivals import Arrival
from fleet.link.asking import Asker, Options
from fleet.link.connections import CLIENT_ERRORS, Waits
from fleet.link.ways import Watching, Way, poll_every_s, silence_s
from fleet.model.errors import LinkError, UnitError

_EVENT_STREAM = "text/event-stream"
_WELL_CLOSED = frozenset({aiohttp.WSCloseCode.OK, aiohttp.WSCloseCode.GOING_AWAY})
_SENT = frozenset({aiohttp.WSMsgType.TEXT, aiohttp.WSMsgType.BINARY})
_AT_ONCE_S = 0.1
_LOOKS = 4
_NO_CONTENT = 204


def pushed(
    asker: Asker, found: Watching, request: Request, note_retry: Callable[[int | None], None]
) -> AsyncIterator[list[Arrival]]:
    """Return the arrivals of an event stream, a WebSocket or a long poll.

    Args:
        asker: sends the request.
        found: how the value is watched.
        request: what opens the way.
        note_retry: is told how long an event stream asks to wait before it is opened again, ms.
    """
    form, limits = found.form, asker.wire.limits
    silent_s = silence_s(found.affordance, limits)
    if found.way is Way.SOCKET:
        return socket_frames(asker, request, form.security, silent_s)
    if found.way is Way.EVENT_STREAM:
        return event_stream(asker, request, form.security, silent_s, note_retry)
    read_every_s = poll_every_s(found.affordance, form, limits)
    every_s = read_every_s if form.subprotocol is None or form.poll_every_ms else 0.0
    return long_poll(asker, request, form.security, every_s)


async def event_stream(
    asker: Asker,
    request: Request,
    options: Options,
    silent_s: float,
    note_retry: Callable[[int | None], None],
) -> AsyncIterator[list[Arrival]]:
    """Yield the events of each arrival until the unit ends the stream; none at first, once it is open.

    Raises:
        LinkError: the unit can't be reached, or fell silent.
        UnitError: it refused, or sent no event stream.
    """
    last_event_id = request.headers.get("Last-Event-ID", "")
    decoder = EventStreamDecoder(last_event_id, subject=asker.subject)
    alive = _Alive(silent_s)
    try:
        async with asker.opened(request, options, _stream_waits(asker)) as response:
            _hold_event_stream(response, asker.subject)
            alive.watch(response)
            yield []
            content = response.content
            while not content.at_eof():
                events = decoder.feed(await content.readany())
                if events:
                    alive.quiet_looks = 0
                    yield [Arrival(event.data, event.id) for event in events]
            return
    except CLIENT_ERRORS as reason:
        failure = asker.failure(TimeoutError() if alive.given_up else reason)
    finally:
        alive.stop()
        note_retry(decoder.retry_ms)
    raise failure


async def socket_frames(
    asker: Asker, request: Request, options: Options, silent_s: float
) -> AsyncIterator[list[Arrival]]:
    """Yield each message of a WebSocket until the unit closes it.

    Raises:
        LinkError: the unit can't be reached, or fell silent.
        UnitError: it refused.
    """
    try:
        socket = await asker.socket(request, options, MAX_REPORT_BYTES)
        async with socket:
            while True:
                message = await socket.receive(silent_s)
                if message.type not in _SENT:
                    break
                data = message.data
                yield [Arrival(data.encode() if isinstance(data, str) else data)]
        ended = _ended(socket, asker.subject)
    except CLIENT_ERRORS as reason:
        ended = asker.failure(reason)
    if ended is not None:
        raise ended


async def long_poll(
    asker: Asker, request: Request, options: Options, otherwise_every_s: float
) -> AsyncIterator[list[Arrival]]:
    """Ask again and again for what is new; each answer is an arrival.

    Args:
        asker, request, options: what to ask.
        otherwise_every_s: how long to wait after an answer that came at once; 0 for a unit that says that
            it is a long poll, and so has news.

    Raises:
        LinkError: the unit can't be reached.
        UnitError: it refused.
    """
    gap_s = asker.wire.limits.long_poll_gap_ms / 1000
    soon_s, pause_s = (_AT_ONCE_S, otherwise_every_s) if otherwise_every_s else (gap_s, gap_s)
    while True:
        soon = _Soon(soon_s)
        try:
            body = await _news(asker, request, options)
        finally:
            soon.stop()
        if body is not None:
            yield [Arrival(body)]
        if not soon.over:
            await asyncio.sleep(pause_s)


async def polled(
    read: Callable[[], Awaitable[bytes]], every_s: float
) -> AsyncIterator[list[Arrival]]:
    """Read again and again, `every_s` after the last answer: a slow unit has its rest.

    Raises:
        LinkError, UnitError: as the reading does.
    """
    while True:
        yield [Arrival(await read())]
        await asyncio.sleep(every_s)


async def _news(asker: Asker, request: Request, options: Options) -> bytes | None:
    """Ask once for what is new; return None if nothing is."""
    limits = asker.wire.limits
    open_s = limits.long_poll_s
    waits = Waits(aiohttp.ClientTimeout(total=None, connect=limits.connect_s, sock_read=open_s))
    try:
        async with asyncio.timeout(limits.long_poll_s + limits.whole_s):
            async with asker.opened(request, options, waits) as response:
                answer = await asker.wire.whole(response, asker.subject)
    except aiohttp.ConnectionTimeoutError as reason:
        failure = asker.failure(reason)
    except TimeoutError:
        return None
    except CLIENT_ERRORS as reason:
        failure = asker.failure(reason)
    else:
        return None if answer.status == _NO_CONTENT else answer.body
    raise failure


class _Soon:
    """Whether a moment is over yet.

    Attributes:
        over: it is.
    """

    def __init__(self, seconds: float) -> None:
        """Begin the moment."""
        self.over = False
        self._ending = asyncio.get_running_loop().call_later(seconds, self._end)

    def stop(self) -> None:
        """Leave it as it is."""
        self._ending.cancel()

    def _end(self) -> None:
        self.over = True


class _Alive:
    """Closes a stream that says nothing whole for too long, or up to a quarter longer.

    It looks now and then, where a limit of the client's own would be set anew with every arrival.

    Attributes:
        given_up: the stream was closed for that.
        quiet_looks: how many looks in a row found nothing; whoever takes something whole sets it to 0.
    """

    def __init__(self, silent_s: float) -> None:
        """Count from now on."""
        self.given_up = False
        self.quiet_looks = 0
        self._every_s = silent_s / _LOOKS
        self._looking: asyncio.TimerHandle | None = None

    def watch(self, response: aiohttp.ClientResponse) -> None:
        """Look again and again; close the response in the end."""
        loop = asyncio.get_running_loop()
        self._looking = loop.call_later(self._every_s, self._look, response)

    def stop(self) -> None:
        """Look no more."""
        if self._looking is not None:
            self._looking.cancel()

    def _look(self, response: aiohttp.ClientResponse) -> None:
        self.quiet_looks += 1
        if self.quiet_looks <= _LOOKS:
            self.watch(response)
        else:
            self.given_up = True
            response.close()


def _stream_waits(asker: Asker) -> Waits:
    limits = asker.wire.limits
    return Waits(aiohttp.ClientTimeout(total=None, connect=limits.connect_s), limits.whole_s)


def _hold_event_stream(response: aiohttp.ClientResponse, subject: str) -> None:
    """Refuse what is no event stream (WHATWG HTML §9.2: neither another type nor 204 is one)."""
    if response.content_type != _EVENT_STREAM or response.status == _NO_CONTENT:
        raise UnitError(
            "what it streams is no event stream.",
            subject=subject,
            stands="Nothing of it was used.",
            next_step="Restart the unit; if that stays, its build is at fault.",
        )


def _ended(socket: aiohttp.ClientWebSocketResponse, subject: str) -> LinkError | UnitError | None:
    """Return what is to be said of a WebSocket that is closed: nothing where the unit ended it well."""
    if socket.close_code in _WELL_CLOSED:
        return None
    if socket.close_code == aiohttp.WSCloseCode.MESSAGE_TOO_BIG:
        return UnitError(
            f"it sent a message larger than {MAX_REPORT_BYTES >> 10} KiB.",
            subject=subject,
            stands="The connection was closed; nothing of that message was used.",
        )
    return LinkError("it broke the connection off.", subject=subject)

"""Sending an image to a unit: many octets in one request, for as long as they keep flowing.

1. The octets go out in pieces with their length said before; how far they went is told after each.
2. There is no limit for the whole, which would punish slow Wi-Fi; there is one for silence. A piece that
   leaves is a sign of life, and so is the unit saying that more has come (`Flow.moved`): what left may lie
   in buffers on the way.
3. It goes beside the unit's turns, so that the unit can be asked meanwhile how far it is.
4. A broken upload says nothing of what the unit kept: whoever sends reads that.
"""

import asyncio
from collections.abc import AsyncIterator, Callable

import aiohttp

from fleet.description.documents import Json, parse_json
from fleet.description.requests import invoke_request
from fleet.description.things import Affordance
from fleet.link.connections import CLIENT_ERRORS, Answer, Waits
from fleet.link.limits import Limits
from fleet.link.unit_link import UnitLink

PIECE_BYTES = 1 << 14

Tell = Callable[[int], None]
"""Is told how many octets have left."""


class Flow:
    """How an upload goes on; it gives up when nothing moves for too long."""

    def __init__(self, limits: Limits, tell: Tell) -> None:
        """Begin with nothing sent."""
        self._limits = limits
        self._tell = tell
        self._silence_s = limits.upload_silence_s
        self._giving_up: asyncio.TimerHandle | None = None
        self._deadline: asyncio.Timeout | None = None

    def moved(self) -> None:
        """Take a sign of life."""
        self.stop()
        if self._deadline is not None:
            loop = asyncio.get_running_loop()
            self._giving_up = loop.call_later(self._silence_s, self._deadline.reschedule, 0.0)

    def begin(self, deadline: asyncio.Timeout) -> None:
        """Count from now on; run the deadline out after too long a silence."""
        self._deadline = deadline
        self.moved()

    def stop(self) -> None:
        """Count no more."""
        if self._giving_up is not None:
            self._giving_up.cancel()
        self._giving_up = None

    async def pieces(self, octets: bytes) -> AsyncIterator[bytes]:
        """Hand the octets out, piece by piece."""
        self._silence_s = self._limits.upload_silence_s
        for start in range(0, len(octets), PIECE_BYTES):
            self.moved()
            yield octets[start : start + PIECE_BYTES]
            self._tell(min(start + PIECE_BYTES, len(octets)))
        self._silence_s = self._limits.upload_answer_s
        self.moved()


def flow_to(link: UnitLink, tell: Tell) -> Flow:
    """Return the flow of an upload to a unit, to be handed to `upload`."""
    return Flow(link.asker.wire.limits, tell)


async def upload(link: UnitLink, affordance: Affordance, octets: bytes, flow: Flow) -> Json:
    """Send octets to an action that takes them; return what the unit answers.

    Args:
        link: the way to the unit.
        affordance: its action.
        octets: all of them.
        flow: tells how far they went, and takes signs of life.

    Raises:
        PlanError: the action takes no octets; nothing was sent.
        LinkError: no answer came, or the unit failed inside: what it kept has to be read.
        LockedError, UnitError: it refused, or answered no JSON.
    """
    request = invoke_request(link.thing, affordance, octets)
    form = affordance.form("invokeaction")
    asker = link.asker
    client = aiohttp.ClientTimeout(total=None, connect=asker.wire.limits.connect_s)
    waits = Waits(client, piecewise=flow.pieces)
    try:
        async with asyncio.timeout(None) as deadline:
            flow.begin(deadline)
            async with asker.opened(request, form.security if form else (), waits) as response:
                answer: Answer = await asker.wire.whole(response, asker.subject)
    except CLIENT_ERRORS as reason:
        failure = asker.wire.failure(reason, asker.route, asker.subject, asked=True)
    else:
        return parse_json(answer.body, subject=asker.subject) if answer.body else None
    finally:
        flow.stop()
    raise failure

"""Refusals of a unit as Problem Details (RFC 9457)."""

import json
from collections.abc import Awaitable, Callable

from aiohttp import web

from fleet.simulator.unit import SimulatedUnit

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]

UNIT = web.AppKey("unit", SimulatedUnit)

_TITLES = {
    400: "The body is no JSON",
    404: "There is nothing here",
    405: "That can't be done here",
    408: "It took too long",
    409: "Not in this state",
    412: "It has changed since you read it",
    413: "The body is too long",
    422: "The value isn't possible",
    428: "Say which version you mean to replace",
    500: "The unit failed",
    507: "There is no room",
}


class RefusedError(Exception):
    """A request is refused, with a status and the reason in words."""

    def __init__(self, status: int, detail: str) -> None:
        """Keep both."""
        super().__init__(detail)
        self.status = status
        self.detail = detail


@web.middleware
async def problems(request: web.Request, handler: Handler) -> web.StreamResponse:
    """Answer every refusal as Problem Details; a unit that is restarting answers nothing at all."""
    if request.app[UNIT].down:
        return cut(request)
    try:
        return await handler(request)
    except RefusedError as refused:
        return _problem(refused.status, refused.detail)
    except web.HTTPException as refused:
        return _problem(refused.status, refused.reason)


def cut(request: web.Request) -> web.Response:
    """Cut the connection; the answer, which nobody gets, is the handler's to return."""
    if request.transport is not None:
        request.transport.abort()
    return web.Response(status=503)


def _problem(status: int, detail: str) -> web.Response:
    title = _TITLES.get(status, "Refused")
    body = {"type": "about:blank", "title": title, "status": status, "detail": detail}
    return web.Response(
        status=status, text=json.dumps(body), content_type="application/problem+json"
    )

"""Reading what a request to a simulated unit says, or refusing it."""

from typing import Any

import msgspec
from aiohttp import web
from jsonschema import Draft7Validator

from fleet.simulator.problems import RefusedError

MOST_BODY_BYTES = 64 * 1024


async def said_in(request: web.Request, validator: Draft7Validator) -> Any:  # noqa: ANN401 - any JSON
    """Read a request's body as JSON that a schema allows.

    Raises:
        RefusedError: it is no JSON (400), or not what the schema allows (422).
    """
    return parsed(await request.read(), validator)


def parsed(body: bytes, validator: Draft7Validator) -> Any:  # noqa: ANN401 - any JSON
    """Read a body as JSON that a schema allows; see `said_in`."""
    try:
        value = msgspec.json.decode(body)
    except (msgspec.DecodeError, RecursionError) as reason:
        raise RefusedError(400, str(reason)) from reason
    for wrong in validator.iter_errors(value):
        where = "/".join(str(part) for part in wrong.absolute_path)
        raise RefusedError(422, f"{where or 'the value'}: {wrong.message}"[:300])
    return value

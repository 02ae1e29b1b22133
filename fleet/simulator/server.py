"""A unit's HTTP face: its description, its values, its event streams, its two actions."""

import json
from collections.abc import Mapping
from typing import Any

import msgspec
from aiohttp import web
from jsonschema import Draft7Validator

from fleet.simulator import names
from fleet.simulator.describe import (
    IDENTIFY_INPUT,
    description_of,
    fixed_schemas,
    watched_schemas,
    writable_schemas,
)
from fleet.simulator.problems import UNIT, Handler, RefusedError, problems
from fleet.simulator.rules import area_complaints, areas_from
from fleet.simulator.settings import taken
from fleet.simulator.streams import Listener
from fleet.simulator.unit import SimulatedUnit

MOST_BODY_BYTES = 64 * 1024
RETRY_MS = 1000
TD_TYPE = "application/td+json"


def app_of(unit: SimulatedUnit, base: str) -> web.Application:
    """Make the web application of a unit that is reached under `base` (ends with a slash)."""
    app = web.Application(middlewares=[problems], client_max_size=MOST_BODY_BYTES)
    app[UNIT] = unit
    description = json.dumps(description_of(unit, base))

    async def describe(_: web.Request) -> web.Response:
        return web.Response(text=description, content_type=TD_TYPE)

    for path in (names.WELL_KNOWN_PATH, names.DESCRIPTION_PATH):
        app.router.add_get(path, describe)
    writable = writable_schemas(unit)
    watched = {*writable, *watched_schemas(unit)}
    for name in (*fixed_schemas(unit), *watched):
        path = f"/{names.PROPERTY_PATH}{name}"
        app.router.add_get(path, _watching(name) if name in watched else _reading(name))
    for name, schema in writable.items():
        app.router.add_put(f"/{names.PROPERTY_PATH}{name}", _writing(name, schema))
    app.router.add_post(f"/{names.ACTION_PATH}{names.IDENTIFY}", _identify)
    app.router.add_post(f"/{names.ACTION_PATH}{names.RESTART}", _restart)
    return app


def _reading(name: str) -> Handler:
    async def read(request: web.Request) -> web.StreamResponse:
        return _value(request.app[UNIT], name)

    return read


def _watching(name: str) -> Handler:
    async def read_or_watch(request: web.Request) -> web.StreamResponse:
        if "text/event-stream" in request.headers.get("Accept", ""):
            return await _stream(request, name)
        return _value(request.app[UNIT], name)

    return read_or_watch


def _value(unit: SimulatedUnit, name: str) -> web.Response:
    tag = unit.etag_of(name)
    headers = {"ETag": tag} if tag else {}
    return web.Response(text=unit.text_of(name), content_type="application/json", headers=headers)


async def _stream(request: web.Request, name: str) -> web.StreamResponse:
    """Hold a stream open until one of the two sides ends it; the unit's ticks write to it."""
    unit = request.app[UNIT]
    response = web.StreamResponse(
        headers={"Content-Type": "text/event-stream", "Cache-Control": "no-store"}
    )
    await response.prepare(request)
    await response.write(f"retry: {RETRY_MS}\n\n".encode())
    transport = request.transport
    if transport is None:
        return response
    listener = Listener(transport, request.version >= (1, 1))
    unit.streams.add(name, listener)
    try:
        await listener.over.wait()
    finally:
        unit.streams.remove(name, listener)
    return response


def _writing(name: str, schema: Mapping[str, Any]) -> Handler:
    validator = Draft7Validator(schema)

    async def write(request: web.Request) -> web.StreamResponse:
        unit = request.app[UNIT]
        _check_tag(request.headers.get("If-Match"), unit.etag_of(name))
        body = await request.read()
        _check_tag(request.headers.get("If-Match"), unit.etag_of(name))
        value = _parsed(body, validator)
        _take(unit, name, value)
        return web.Response(status=204, headers={"ETag": unit.etag_of(name)})

    return write


def _check_tag(if_match: str | None, tag: str) -> None:
    """Hold If-Match against the strong tag (RFC 9110 section 13.1.1); a weak one never matches."""
    if if_match is None:
        raise RefusedError(428, "Read it first and send its ETag as If-Match.")
    wanted = {part.strip() for part in if_match.split(",")}
    if "*" not in wanted and tag not in wanted:
        raise RefusedError(412, "Somebody else has changed it: read it again.")


def _parsed(body: bytes, validator: Draft7Validator) -> Mapping[str, Any]:
    """Read a body; every schema of a unit asks for an object."""
    value: dict[str, Any]
    try:
        value = msgspec.json.decode(body)
    except (msgspec.DecodeError, RecursionError) as reason:
        raise RefusedError(400, str(reason)) from reason
    for wrong in validator.iter_errors(value):
        where = "/".join(str(part) for part in wrong.absolute_path)
        raise RefusedError(422, f"{where or 'the value'}: {wrong.message}"[:300])
    return value


def _take(unit: SimulatedUnit, name: str, value: Mapping[str, Any]) -> None:
    if name == names.TUNING:
        unit.take_settings(taken(unit.settings, value))
        return
    for complaint in area_complaints(value):
        raise RefusedError(422, complaint)
    unit.take_areas(areas_from(value))


_IDENTIFY = Draft7Validator(IDENTIFY_INPUT)


async def _identify(request: web.Request) -> web.StreamResponse:
    body = await request.read()
    if body:
        _parsed(body, _IDENTIFY)
    return web.Response(status=204)


async def _restart(request: web.Request) -> web.StreamResponse:
    unit = request.app[UNIT]
    if unit.restart_asked:
        raise RefusedError(409, "A restart is on its way already.")
    unit.restart_asked = True
    return web.Response(status=204)

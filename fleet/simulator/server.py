"""A unit's HTTP face: its description, its values, its event streams, blinking and restarting."""

import json
from collections.abc import Mapping
from typing import Any

from aiohttp import web
from jsonschema import Draft7Validator

from fleet.simulator import names
from fleet.simulator.bandwidth import Bandwidth
from fleet.simulator.describe import (
    assembled_schemas,
    description_of,
    fixed_schemas,
    single_schemas,
    watched_schemas,
    writable_schemas,
)
from fleet.simulator.describe_acts import IDENTIFY_INPUT
from fleet.simulator.firmware_server import serve_firmware
from fleet.simulator.problems import UNIT, Handler, RefusedError, cut, problems
from fleet.simulator.requests import MOST_BODY_BYTES, parsed, said_in
from fleet.simulator.rules import area_complaints, areas_from
from fleet.simulator.scattered import LOST_WRITE, RESET_AT_WRITE
from fleet.simulator.settings import taken
from fleet.simulator.streams import Listener
from fleet.simulator.truth import TrueBuild, WriteFault
from fleet.simulator.unit import SimulatedUnit

RETRY_MS = 1000
TD_TYPE = "application/td+json"


def app_of(unit: SimulatedUnit, base: str, bandwidth: Bandwidth) -> web.Application:
    """Make the web application of a unit.

    Args:
        unit: answers.
        base: it is reached under this address, which ends with a slash.
        bandwidth: octets of images go through it.
    """
    app = web.Application(middlewares=[problems], client_max_size=MOST_BODY_BYTES)
    app[UNIT] = unit
    for path in (names.WELL_KNOWN_PATH, names.DESCRIPTION_PATH):
        app.router.add_get(path, _describing(base))
    writable, single = writable_schemas(unit), single_schemas(unit)
    watched = {*writable, *watched_schemas(unit)}
    for name in (*fixed_schemas(unit), *assembled_schemas(unit), *single, *watched):
        path = f"/{names.PROPERTY_PATH}{name}"
        app.router.add_get(path, _watching(name) if name in watched else _reading(name))
    for name, schema in writable.items():
        app.router.add_put(f"/{names.PROPERTY_PATH}{name}", _writing(name, schema))
    for name, schema in single.items():
        app.router.add_put(f"/{names.PROPERTY_PATH}{name}", _writing_single(name, schema))
    app.router.add_get(f"/{names.EVENT_PATH}{names.TROUBLE}", _telling)
    app.router.add_post(f"/{names.ACTION_PATH}{names.IDENTIFY}", _identify)
    app.router.add_post(f"/{names.ACTION_PATH}{names.RESTART}", _restart)
    serve_firmware(app, bandwidth)
    return app


def _describing(base: str) -> Handler:
    """Serve the description, written anew when another image runs."""
    written: dict[TrueBuild, str] = {}

    async def describe(request: web.Request) -> web.StreamResponse:
        unit = request.app[UNIT]
        build = unit.installer.slots.build
        if build not in written:
            written.clear()
            written[build] = json.dumps(description_of(unit, base))
        return web.Response(text=written[build], content_type=TD_TYPE)

    return describe


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


async def _telling(request: web.Request) -> web.StreamResponse:
    return await _stream(request, names.TROUBLE)


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
        value = parsed(body, validator)
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


def _writing_single(name: str, schema: Mapping[str, Any]) -> Handler:
    validator = Draft7Validator(schema)

    async def write(request: web.Request) -> web.StreamResponse:
        unit = request.app[UNIT]
        value = await said_in(request, validator)
        unit.scalar_writes += 1
        fault, number = unit.truth.write_fault, unit.scalar_writes
        if fault is WriteFault.RESET and number == RESET_AT_WRITE:
            unit.lose_power()
            return cut(request)
        if fault is not WriteFault.LOST or number != LOST_WRITE:
            unit.take_scalar(name, int(value) if isinstance(value, float) else value)
        return web.Response(status=204)

    return write


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
        parsed(body, _IDENTIFY)
    return web.Response(status=204)


async def _restart(request: web.Request) -> web.StreamResponse:
    unit = request.app[UNIT]
    if unit.restart_asked:
        raise RefusedError(409, "A restart is on its way already.")
    unit.restart_asked = True
    return web.Response(status=204)

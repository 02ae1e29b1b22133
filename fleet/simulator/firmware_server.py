"""A unit's HTTP face for its firmware: taking an image, installing it, forgetting everything.

1. An upload is answered when the image is on flash, with what is kept there.
2. An installation is answered at once with an ActionStatus (WoT Profiles, Working Draft of 30 September
   2025) and the address where it can be asked for. The unit forgets it at its next restart.
3. DELETE on that address drops the installation while nothing of it is applied.
"""

import asyncio
from collections.abc import AsyncIterator, Mapping
from typing import Any

from aiohttp import web
from jsonschema import Draft7Validator

from fleet.model.firmware import InstallState
from fleet.simulator import names
from fleet.simulator.bandwidth import Bandwidth
from fleet.simulator.describe_acts import RENEW_INPUT, WIPE_INPUT
from fleet.simulator.intake import CutError, NotTakenError, take_in
from fleet.simulator.orders import FETCH, NO_SPACE, REASONS, TIMEOUT, Order, Progress, is_lower
from fleet.simulator.problems import UNIT, RefusedError, cut
from fleet.simulator.pulling import is_fetchable, pull
from fleet.simulator.requests import said_in
from fleet.simulator.truth import FirmwareFault
from fleet.simulator.unit import SimulatedUnit

BANDWIDTH = web.AppKey("bandwidth", Bandwidth)
_PULLS = web.AppKey("pulls", set[asyncio.Task[None]])
_STATUSES = {NO_SPACE: 507, TIMEOUT: 408, FETCH: 400}
_STATUS_PATH = f"/{names.ACTION_PATH}{names.RENEW}/"
_RENEW = Draft7Validator(RENEW_INPUT)
_WIPE = Draft7Validator(WIPE_INPUT)
_ENDED_BADLY = (InstallState.FAILED, InstallState.ROLLED_BACK)


def serve_firmware(app: web.Application, bandwidth: Bandwidth) -> None:
    """Add the addresses to a unit's application."""
    app[BANDWIDTH] = bandwidth
    app[_PULLS] = set()
    app.cleanup_ctx.append(_ending_pulls)
    app.router.add_post(f"/{names.ACTION_PATH}{names.TAKE_IMAGE}", _take_image)
    app.router.add_post(f"/{names.ACTION_PATH}{names.RENEW}", _renew)
    app.router.add_get(_STATUS_PATH + r"{number:\d{1,9}}", _status)
    app.router.add_delete(_STATUS_PATH + r"{number:\d{1,9}}", _cancel)
    app.router.add_post(f"/{names.ACTION_PATH}{names.WIPE}", _wipe)


async def _ending_pulls(app: web.Application) -> AsyncIterator[None]:
    yield
    pulls = app[_PULLS]
    for running in pulls:
        running.cancel()
    await asyncio.gather(*pulls, return_exceptions=True)
    app[UNIT].installer.wipe()


async def _take_image(request: web.Request) -> web.StreamResponse:
    unit, transport = request.app[UNIT], request.transport
    installer = unit.installer
    _refuse_while_busy(unit)
    if transport is None:
        return cut(request)
    number = installer.begin_upload(request.content_length)
    unit.streams.held.add(transport)
    try:
        await take_in(unit, number, request.content, request.app[BANDWIDTH])
    except NotTakenError as failed:
        installer.fail(failed.reason)
        raise RefusedError(_STATUSES[failed.reason], REASONS[failed.reason]) from failed
    except CutError:
        return cut(request)
    finally:
        unit.streams.held.discard(transport)
        if installer.fetching(number):  # who sent it has gone
            installer.fail(FETCH)
    kept = installer.progress
    return web.json_response({"digest": kept.digest, "size": kept.octets_total})


async def _renew(request: web.Request) -> web.StreamResponse:
    unit = request.app[UNIT]
    order = _order_from(await said_in(request, _RENEW))
    _refuse_while_busy(unit)
    if order.url and not is_fetchable(order.url):
        raise RefusedError(422, "url: it is no address that this unit could fetch from")
    if not order.url and unit.installer.image is None:
        raise RefusedError(409, "No image is staged, and no address to fetch one from was named.")
    if is_lower(order.sequence, order, unit.installer.slots.build):
        raise RefusedError(409, "The sequence is lower than that of the image that runs.")
    number = unit.installer.begin(order, unit.last_tick)
    if order.url:
        _begin_to_pull(request.app, order)
    if unit.installer.strikes(FirmwareFault.ANSWERS_500):
        raise RefusedError(500, "Something went wrong.")
    where = _STATUS_PATH + str(number)
    said = _said(unit.installer.progress, where)
    return web.json_response(said, status=201, headers={"Location": where})


def _begin_to_pull(app: web.Application, order: Order) -> None:
    pulls, unit = app[_PULLS], app[UNIT]
    fetching = pull(unit, unit.installer.fetches, order, app[BANDWIDTH])
    running = asyncio.create_task(fetching)
    pulls.add(running)
    running.add_done_callback(pulls.discard)


async def _status(request: web.Request) -> web.StreamResponse:
    return web.json_response(_said(_known_order(request), request.path))


async def _cancel(request: web.Request) -> web.StreamResponse:
    _known_order(request)
    unit = request.app[UNIT]
    if not unit.installer.cancel():
        raise RefusedError(409, "It is being applied, or has ended.")
    unit.streams.cut_held()
    return web.Response(status=204)


def _known_order(request: web.Request) -> Progress:
    installer = request.app[UNIT].installer
    if int(request.match_info["number"]) != installer.known_order or not installer.known_order:
        raise RefusedError(404, "Nothing is known of that installation.")
    return installer.progress


async def _wipe(request: web.Request) -> web.StreamResponse:
    unit = request.app[UNIT]
    wanted = await said_in(request, _WIPE)
    if wanted["serial_no"] != unit.truth.serial:
        raise RefusedError(422, "serial_no: it is not the serial of this unit")
    _refuse_while_busy(unit)
    unit.wipe(keep_network=wanted.get("stay_online", True))
    return web.Response(status=204)


def _refuse_while_busy(unit: SimulatedUnit) -> None:
    if unit.installer.busy:
        raise RefusedError(409, "An image is on its way already.")
    if unit.restart_asked:
        raise RefusedError(409, "A restart is on its way already.")


def _order_from(value: Mapping[str, Any]) -> Order:
    sequence = value.get("sequence")
    return Order(
        digest=value["digest"],
        size=int(value["size"]),
        version=value["release"],
        build_id=value.get("build", ""),
        sequence=None if sequence is None else int(sequence),
        downgrade_allowed=value.get("backwards", False),
        url=value.get("url", ""),
    )


def _said(progress: Progress, where: str) -> dict[str, Any]:
    """Write an ActionStatus."""
    if progress.state in _ENDED_BADLY:
        problem = {"title": progress.reason, "detail": REASONS[progress.reason]}
        return {"status": "failed", "href": where, "error": problem}
    done = progress.state is InstallState.COMPLETED
    return {"status": "completed" if done else "running", "href": where}

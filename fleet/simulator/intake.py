"""Octets of an image on their way onto a unit's flash, whoever sends them.

Octets go from the connection to the flash in small pieces, and no more than one of those is in memory. A
unit that loses power meanwhile cuts the connection, and what came is lost.
"""

import asyncio
from typing import Protocol

from fleet.simulator.bandwidth import Bandwidth
from fleet.simulator.figures import FETCH_IDLE_S, READ_BYTES
from fleet.simulator.installing import Installer
from fleet.simulator.orders import FETCH, NO_SPACE, TIMEOUT
from fleet.simulator.spool import NoSpaceError, Spool
from fleet.simulator.truth import FirmwareFault
from fleet.simulator.unit import SimulatedUnit


class NotTakenError(Exception):
    """An image didn't come; the reason is a word of `orders.REASONS`."""

    def __init__(self, reason: str) -> None:
        """Keep the reason."""
        super().__init__(reason)
        self.reason = reason


class CutError(Exception):
    """The connection is to be cut without an answer."""


class Octets(Protocol):
    """What octets come from: a connection's reader."""

    async def read(self, n: int = -1) -> bytes:
        """Return the next octets, at most `n`; none at the end."""
        ...


async def take_in(unit: SimulatedUnit, number: int, source: Octets, bandwidth: Bandwidth) -> None:
    """Put octets onto a unit's flash until they end, and hand the image to its installer.

    Args:
        unit: takes them.
        number: of the fetch, as the installer gave it.
        source: they come from there.
        bandwidth: they go through it.

    Raises:
        NotTakenError: the image didn't come whole, or there is no room for it.
        CutError: the unit lost power, dropped the fetch, or resets the connection.
    """
    installer = unit.installer
    image = Spool(spoilt=installer.strikes(FirmwareFault.WRONG_DIGEST))
    try:
        if installer.strikes(FirmwareFault.NO_SPACE):
            raise NotTakenError(NO_SPACE)
        while octets := await _next(source):
            await bandwidth.carry(len(octets))
            _add(unit, number, image, octets)
        if not installer.fetching(number):
            raise CutError
        if not image.size or image.size != (installer.progress.octets_total or image.size):
            raise NotTakenError(FETCH)
        installer.keep(image, unit.last_tick)
    finally:
        if installer.image is not image:
            image.close()


async def _next(source: Octets) -> bytes:
    try:
        async with asyncio.timeout(FETCH_IDLE_S):
            return await source.read(READ_BYTES)
    except TimeoutError as reason:
        raise NotTakenError(TIMEOUT) from reason
    except OSError as reason:
        raise NotTakenError(FETCH) from reason


def _add(unit: SimulatedUnit, number: int, image: Spool, octets: bytes) -> None:
    installer = unit.installer
    if not installer.fetching(number):
        raise CutError
    try:
        image.write(octets)
    except NoSpaceError as reason:
        raise NotTakenError(NO_SPACE) from reason
    total = installer.progress.octets_total
    if total is not None and image.size > total:
        raise NotTakenError(FETCH)
    if installer.fetched(image.size):
        unit.lose_power()
        raise CutError
    if _is_half(installer) and installer.strikes(FirmwareFault.RESET):
        installer.fail(FETCH)
        raise CutError


def _is_half(installer: Installer) -> bool:
    progress = installer.progress
    return 2 * (progress.octets_done or 0) >= (progress.octets_total or 0)

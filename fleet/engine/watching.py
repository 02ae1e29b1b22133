"""Watching one unit: its reports, what it says of presence itself, and now and then all the rest.

1. Reports and occupancy are kept open, each a connection of its own where the way costs one; the rest is
   read about once a minute.
2. A stream sends changes, not a first value: it is opened, then the value is read.
3. A way that breaks is opened again after a jittered wait that doubles, or the one that the unit asks for;
   so a house whose network returns isn't asked by everybody at once.
4. A report that can't be used is counted by its reason and dropped; it never ends the watching.
"""

import asyncio
import json
import random
from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from fleet.description.frames import Complaint, OccupancyReader, ReportReader
from fleet.description.stated import readable
from fleet.description.things import Affordance
from fleet.description.vocabulary import OCCUPANCY, TARGET_FRAME
from fleet.engine.live import LiveRecord, ReportListener
from fleet.engine.reading import read_rest
from fleet.link.arrivals import Arrival
from fleet.link.unit_link import UnitLink
from fleet.link.ways import Way
from fleet.model.clock import Clock
from fleet.model.errors import WalkdownError

FIRST_WAIT_S = 0.5
LONGEST_WAIT_S = 30.0
REST_EVERY_S = 60.0

Take = Callable[[Arrival], None]


@dataclass(frozen=True, slots=True)
class Watched:
    """What watching one unit needs.

    Attributes:
        link: the way to it.
        record: takes in what it says.
        clock: stamps receipt.
        tell: called for each report after the record has it.
    """

    link: UnitLink
    record: LiveRecord
    clock: Clock
    tell: ReportListener


async def watch_unit(watched: Watched) -> None:
    """Watch a unit until cancelled; a failure inside ends all of it, for whoever started it to see."""
    async with asyncio.TaskGroup() as group:
        group.create_task(_watch_reports(watched))
        group.create_task(_watch_occupancy(watched))
        group.create_task(_read_rest_again_and_again(watched))


async def _watch_reports(watched: Watched) -> None:
    affordance = watched.link.thing.property_of(TARGET_FRAME)
    if affordance is None:
        return
    reader, record = ReportReader(affordance), watched.record
    record.way = watched.link.way_of(affordance)

    def take(arrival: Arrival) -> None:
        report = reader.read(arrival.data)
        if isinstance(report, Complaint):
            record.complain(report.reason)
            return
        received_s = watched.clock.monotonic_s()
        record.part_ages_s = arrival.part_ages_s
        record.take(report, received_s)
        watched.tell(record.serial, received_s, report)

    await _keep_open(watched, affordance, take, record.begin_stream)


async def _watch_occupancy(watched: Watched) -> None:
    affordance = watched.link.thing.property_of(OCCUPANCY)
    if affordance is None:
        return
    reader, record = OccupancyReader(affordance), watched.record

    def take(arrival: Arrival) -> None:
        report = reader.read(arrival.data)
        if isinstance(report, Complaint):
            record.complain(f"occupancy: {report.reason}")
        else:
            record.take_occupancy(report)

    async def read_first() -> None:
        if readable(affordance):
            take(Arrival(json.dumps((await watched.link.read(affordance)).value).encode()))

    await _keep_open(watched, affordance, take, lambda: None, read_first)


async def _keep_open(
    watched: Watched,
    affordance: Affordance,
    take: Take,
    begin: Callable[[], None],
    read_first: Callable[[], Awaitable[None]] | None = None,
) -> None:
    """Watch a property; open it again whenever it ends or breaks.

    Args:
        watched: whose.
        affordance: which property.
        take: takes what arrives.
        begin: called before each opening.
        read_first: reads the value once it is open, for one that seldom changes; None for reports.
    """
    link, record = watched.link, watched.record
    way = link.way_of(affordance)
    if not way:
        return
    last_event_id, wait_s = "", FIRST_WAIT_S
    while True:
        begin()
        try:
            if read_first is not None and way not in (Way.EVENT_STREAM, Way.POLLED):
                await read_first()
            async for arrivals in link.observe(affordance, last_event_id):
                if not arrivals and read_first is not None:
                    await read_first()
                wait_s = FIRST_WAIT_S if arrivals else wait_s
                for arrival in arrivals:
                    last_event_id = arrival.id or last_event_id
                    take(arrival)
        except WalkdownError as reason:
            record.complain(f"stream: {reason.what}")
        record.connected = False
        await asyncio.sleep(jittered(max(wait_s, _asked_wait_s(link))))
        wait_s = min(wait_s * 2, LONGEST_WAIT_S)


async def _read_rest_again_and_again(watched: Watched) -> None:
    while True:
        try:
            watched.record.readings = await read_rest(watched.link)
        except WalkdownError as reason:
            watched.record.complain(f"reading: {reason.what}")
        await asyncio.sleep(jittered(REST_EVERY_S))


def _asked_wait_s(link: UnitLink) -> float:
    return min((link.retry_ms or 0) / 1000, LONGEST_WAIT_S)


def jittered(wait_s: float) -> float:
    """Return a wait spread by half to either side."""
    return wait_s * random.uniform(0.5, 1.5)  # noqa: S311 - only keeps units from being asked all at once; nothing secret hangs on it

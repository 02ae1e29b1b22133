"""Watching one unit's reports: a stream that is opened again, with jitter, whenever it breaks."""

import asyncio
import random
from collections.abc import Callable

from fleet.description.frames import Complaint, ReportReader
from fleet.description.vocabulary import TARGET_FRAME
from fleet.engine.live import LiveRecord, ReportListener
from fleet.link.unit_link import UnitLink
from fleet.model.clock import Clock
from fleet.model.errors import WalkdownError

FIRST_WAIT_S = 0.5
LONGEST_WAIT_S = 30.0


async def watch_reports(
    link: UnitLink, record: LiveRecord, clock: Clock, tell: ReportListener
) -> None:
    """Watch until cancelled; returns at once for a unit that has no stream of reports.

    Args:
        link: the way to the unit.
        record: takes the reports in.
        clock: stamps receipt.
        tell: called for each report after the record has it.
    """
    affordance = link.thing.property_of(TARGET_FRAME)
    if affordance is None:
        return
    reader = ReportReader(affordance)
    last_event_id, wait_s = "", FIRST_WAIT_S
    while True:
        record.begin_stream()
        try:
            async for events in link.observe(affordance, last_event_id):
                wait_s = FIRST_WAIT_S
                for event in events:
                    last_event_id = event.id or last_event_id
                    _take(reader, record, event.data, clock, tell)
        except WalkdownError as reason:
            record.odd[f"stream: {reason.what}"] = record.odd.get(f"stream: {reason.what}", 0) + 1
        record.connected = False
        await asyncio.sleep(_jittered(wait_s))
        wait_s = min(wait_s * 2, LONGEST_WAIT_S)


def _take(
    reader: ReportReader,
    record: LiveRecord,
    data: bytes | str,
    clock: Clock,
    tell: Callable[..., None],
) -> None:
    report = reader.read(data)
    if isinstance(report, Complaint):
        record.odd[report.reason] = record.odd.get(report.reason, 0) + 1
        return
    received_s = clock.monotonic_s()
    record.take(report, received_s)
    tell(record.serial, received_s, report)


def _jittered(wait_s: float) -> float:
    """Spread waits, so that a house whose network returns isn't asked by everybody at once."""
    return wait_s * random.uniform(0.5, 1.5)  # noqa: S311 - spreads waits, keeps no secret

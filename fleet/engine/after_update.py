"""After an update: settings and areas back as they were found, and reports that flow.

What differs goes back by the same way as any other value: `applying`, journaled and read back. Reports are
counted by their numbers, which begin anew with the build.
"""

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass

from fleet.description.vocabulary import TARGET_FRAME
from fleet.engine.applying import apply_step, open_step_of, settle_step
from fleet.engine.fleet_watch import FleetWatch
from fleet.inventory.inventory import Inventory
from fleet.jobs.update_words import moved_items, not_as_found
from fleet.model.clock import Clock
from fleet.model.errors import PlanError, WalkdownError
from fleet.model.journal import WriteStep
from fleet.model.reports import Report
from fleet.model.sheets import Sheet, Value
from fleet.model.units import Reading, Sighting

PARTS = {"setting": "settings", "areas": "areas"}
LOOK_S = 0.5
FIRST_REPORT_S = 120.0
"""House seconds within which the first report has to come; a stream is opened again after up to 30 s."""
LONGEST_GAP_S = 30.0
LOST_BEFORE = 2
"""A unit that lost reports before may lose so many times that share; one that lost none may lose none."""
MILLION = 1_000_000
ENOUGH_REPORTS = 1_000


async def put_back(
    inventory: Inventory, fleet: FleetWatch, label: str, serial: str, as_found: Sheet
) -> tuple[str, int]:
    """Put back what isn't as it was found.

    Returns:
        What still isn't, in words, "" for nothing; and how many items had to be put back.

    Raises:
        InventoryError: the journal can't be written.
        LinkError, UnitError: the unit can't be read.
    """
    link = fleet.link_to(serial)
    doubtful = open_step_of(inventory, serial)
    if doubtful is not None:
        await settle_step(inventory, link, doubtful)
    reading = await fleet.read_again(serial)
    moved = moved_items(as_found, reading.sheet)
    for step in _steps(reading, label, moved):
        await apply_step(inventory, link, step, more={"why": "as found before an update"})
    if moved:
        reading = await fleet.read_again(serial)
    return not_as_found(moved_items(as_found, reading.sheet)), len(moved)


async def met_again(
    inventory: Inventory, fleet: FleetWatch, serial: str, clock: Clock, within_s: float
) -> None:
    """Meet a unit anew, since another build may describe itself otherwise; try for some house seconds.

    Raises:
        LinkError, UnitError: it can't be met then either.
        PlanError: another unit answers there.
    """
    until_s = clock.monotonic_s() + within_s
    sighting = inventory.sightings().get(serial)
    if sighting is None:
        raise PlanError("nobody knows where it was heard.", subject=serial)
    while True:
        try:
            return await _met(fleet, sighting, serial)
        except PlanError:
            raise
        except WalkdownError:
            if clock.monotonic_s() > until_s:
                raise
        await asyncio.sleep(LOOK_S / clock.speed)


async def _met(fleet: FleetWatch, sighting: Sighting, serial: str) -> None:
    found = await fleet.meet_by_hand(sighting)
    if found != serial:
        raise PlanError(f"the unit {found} answers where {serial} was.", subject=sighting.url)


@dataclass(slots=True)
class ReportTally:
    """A unit's reports since the tally began, by their numbers.

    Attributes:
        serial: which unit.
        clock: stamps their receipt.
        came, due: how many came, and how many should have.
        last_s: house time of the last one; None while none came.
    """

    serial: str
    clock: Clock
    came: int = 0
    due: int = 0
    last_s: float | None = None
    _number: int | None = None

    def take(self, serial: str, _received_s: float, report: Report) -> None:
        """Count a report."""
        if serial != self.serial:
            return
        step = 1
        if report.number is not None and self._number is not None:
            step = max(1, report.number - self._number)
        self.came, self.due = self.came + 1, self.due + step
        self.last_s, self._number = self.clock.monotonic_s(), report.number

    @property
    def lost_ppm(self) -> int:
        """Share of the reports due that didn't come."""
        return MILLION * (self.due - self.came) // self.due if self.due else 0


async def reports_well(
    fleet: FleetWatch, serial: str, clock: Clock, *, dwell_s: int, lost_before_ppm: int
) -> tuple[bool, str]:
    """Watch a unit's reports for a while; return whether they came well, and what came in words.

    Args:
        fleet: watches the unit already.
        serial: which.
        clock: house time.
        dwell_s: for how long after the first report, house seconds.
        lost_before_ppm: share of its reports that were lost before.
    """
    link = fleet.link_to(serial)
    affordance = link.thing.property_of(TARGET_FRAME)
    if affordance is None or not link.way_of(affordance):
        return True, "it offers no reports to be watched"
    tally = ReportTally(serial, clock)
    stop = fleet.listen(tally.take)
    try:
        return await _watched(tally, clock, dwell_s, lost_before_ppm)
    finally:
        stop()


async def _watched(
    tally: ReportTally, clock: Clock, dwell_s: int, lost_before_ppm: int
) -> tuple[bool, str]:
    began_s = clock.monotonic_s()
    first_s: float | None = None
    while first_s is None or clock.monotonic_s() - first_s < dwell_s:
        await asyncio.sleep(min(LOOK_S, dwell_s or LOOK_S) / clock.speed)
        now_s = clock.monotonic_s()
        if tally.last_s is None and now_s - began_s > FIRST_REPORT_S:
            return False, f"no report came within {round(now_s - began_s)} s"
        if tally.last_s is not None and now_s - tally.last_s > LONGEST_GAP_S:
            return False, f"its reports stopped {round(now_s - tally.last_s)} s ago"
        first_s = tally.last_s if first_s is None else first_s
    return _counted(tally, round(clock.monotonic_s() - first_s), lost_before_ppm)


def _counted(tally: ReportTally, over_s: int, lost_before_ppm: int) -> tuple[bool, str]:
    lost = tally.due - tally.came
    said = f"{tally.came} reports in {over_s} s, {lost or 'none'} lost"
    if lost_before_ppm:
        said += f" ({lost_before_ppm / 10_000:.1f} % were before)"
    return tally.lost_ppm <= LOST_BEFORE * lost_before_ppm, said


def _steps(
    reading: Reading, label: str, moved: Mapping[str, tuple[Value | None, Value | None]]
) -> list[WriteStep]:
    steps = []
    for head, part in PARTS.items():
        mine = {key: pair for key, pair in moved.items() if key.split(".", 1)[0] == head}
        wanted = {key: before for key, (before, _) in mine.items()}
        now = {key: found for key, (_, found) in mine.items()}
        if wanted:
            steps.append(WriteStep(reading.serial, label, reading.url, part, wanted, now))
    return steps

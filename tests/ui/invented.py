"""Marlpit House as it might stand in the middle of a visit: the shipped plan, readings made up here."""

from dataclasses import replace
from datetime import UTC, datetime

from fleet.engine.files import checklist_for, read_plan
from fleet.jobs.changes import pending_changes
from fleet.jobs.checklists import RoomEvidence, fill
from fleet.jobs.findings import findings_from_reading
from fleet.jobs.planning import planned_sheet
from fleet.jobs.todo import jobs_of
from fleet.model.findings import Finding, FindingKind
from fleet.model.journal import OpenStep, StepState, WriteStep
from fleet.model.snapshot import (
    HouseState,
    LinkState,
    LiveUnit,
    OperationView,
    Snapshot,
    TrackView,
)
from fleet.model.units import Reading, Sighting, Unit
from fleet.shipped import resources

AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
URL = "http://127.0.0.1:8001/td"
PLAN = read_plan(resources() / "houses" / "marlpit")
STRANGER = Reading(
    "AP99-QQ111",
    "http://127.0.0.1:8015/td",
    "A unit without a name",
    {"module.type": "static", "hardware.revision": "R3"},
    AT,
    signal_dbm=-58,
)
MIRRORED = Finding(
    "living-room",
    "U02",
    FindingKind.MIRRORED_MOUNT,
    "fits 0.27 m mirrored, 3.10 m as planned",
    {"direct_mm": 3100, "mirrored_mm": 270},
)
STEP = WriteStep(
    "AP14-RPATJ", "U03", URL, "settings", {"setting.hold_time_s": 30}, {"setting.hold_time_s": 120}
)
DOUBT = OpenStep("step-1", STEP, AT, StepState.IN_DOUBT)


def unit_of(line, found=None, plan=PLAN):
    """A unit that was read, holding what is planned but for `found`."""
    planned = planned_sheet(line, plan.approved_builds)
    left = dict(plan.visits[-1].as_left.get(line.label, planned)) if plan.visits else planned
    sheet = {"module.firmware": "3.1", **planned, **left, **(found or {})}
    reading = Reading(line.serial, URL, f"Unit {line.label}", sheet, AT, signal_dbm=-61)
    return Unit(line, planned, reading, left, AT)


FOUND = {"U03": {"setting.hold_time_s": 120}, "U05": {"build.version": "1.8.0"}}


def house_of(plan=PLAN, *, unplaced=(STRANGER,), ticks=None, signed=None, **changes):
    """The state of a house whose units were all read."""
    units = [unit_of(line, FOUND.get(line.label), plan) for line in plan.units]
    findings = (*findings_from_reading(plan, units, {}), MIRRORED)
    rooms = {
        room.key: fill(
            checklist_for(room.kind),
            RoomEvidence(
                plan,
                room,
                [unit for unit in units if unit.line.room == room.key],
                findings,
                ticks=(ticks or {}).get(room.key, {}),
                signed_by=(signed or {}).get(room.key, ""),
            ),
        )
        for room in plan.rooms
    }
    pending = pending_changes(units)
    state = HouseState(
        plan=plan,
        units={unit.line.serial: unit for unit in units},
        unplaced=unplaced,
        sightings={unit.line.serial: Sighting(unit.line.label, URL, AT) for unit in units},
        changes=pending,
        findings=findings,
        rooms=rooms,
        jobs=jobs_of(plan, units, pending, findings, rooms),
    )
    return replace(state, **changes) if changes else state


def live_of(house):
    """Every unit live, the last one quiet, somebody walking in the living room."""
    live = {
        serial: LiveUnit(serial, LinkState.LIVE, 0.1, reports=900, lost_ppm=0)
        for serial in house.units
    }
    quiet = list(live)[-1:]
    live |= {serial: LiveUnit(serial, LinkState.QUIET, 12.0, reports=40) for serial in quiet}
    for serial, unit in house.units.items():
        if unit.line.label == "U02":
            live[serial] = _watching(house, serial)
    return live


def _watching(house, serial):
    room = next(r for r in house.plan.rooms if r.key == house.units[serial].line.room)
    x0, y0 = (min(corner[axis] for corner in room.outline_mm) for axis in (0, 1))
    at, still, ghost = (x0 + 2100, y0 + 3100), (x0 + 3600, y0 + 1100), (x0 - 700, y0 + 2000)
    trail = tuple((x0 + 1000 + 110 * n, y0 + 1100 + 200 * n) for n in range(11))
    return LiveUnit(
        serial,
        LinkState.LIVE,
        0.1,
        reports=1200,
        lost_ppm=1000,
        targets_mm=(at, still),
        sensor_targets_mm=((-400, 2600), (900, 3300)),
        tracks=(
            TrackView(1, at, 900, 120, held=False, outside=False, trail_mm=trail),
            TrackView(2, still, 0, 80, held=True, outside=False),
            TrackView(3, ghost, 300, 150, held=False, outside=True),
        ),
    )


def snapshot_of(house, **changes):
    """A snapshot of a demo visit in which an apply is running."""
    snapshot = Snapshot(
        at=AT,
        speed=20.0,
        house=house,
        live=live_of(house),
        reports_per_s=136.0,
        interface="127.0.0.1",
        heard=len(house.units),
        expected=len(house.plan.units),
        operations=(OperationView(7, "Apply", 600_000, "U04 areas", can_stop=True),),
    )
    return replace(snapshot, **changes)

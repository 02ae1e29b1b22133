"""Marlpit House as it might stand in the middle of a visit: the shipped plan, readings made up here."""

from dataclasses import replace
from datetime import UTC, datetime

from fleet.engine.files import checklist_for, read_plan
from fleet.jobs.changes import pending_changes
from fleet.jobs.checklists import RoomEvidence, fill
from fleet.jobs.findings import findings_from_reading
from fleet.jobs.planning import planned_sheet
from fleet.jobs.todo import jobs_of
from fleet.link.pinning import CertificateChangedError
from fleet.model.findings import Finding, FindingKind
from fleet.model.journal import OpenStep, StepState, WriteStep
from fleet.model.meeting import (
    ChangedCertificate,
    Diagnosis,
    Expected,
    Interface,
    LockedUnit,
    Meeting,
    Obstacle,
    Pin,
)
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
    capabilities={"max_range_mm": 9000, "field_of_view_mdeg": 90000, "static_presence": True},
    other={"supply": "4.96 V", "passive infrared": "no"},
    complaints=("it names no unit for its temperature",),
    access="open",
)
INTERFACES = (
    Interface("lo", "127.0.0.1", "127.0.0.0/8", loopback=True),
    Interface("lan0", "192.0.2.17", "192.0.2.0/24"),
    Interface("wifi0", "198.51.100.4", "198.51.100.0/24"),
)
BLOCKED = Diagnosis(
    Obstacle.MULTICAST_BLOCKED,
    "12 addresses of 192.0.2.0/24 answer when they are asked one by one, and none of 3 questions to "
    "everybody came back.",
    "Plug the laptop into the same switch as the units, or add them by their addresses.",
    (
        "lan0 has the address 192.0.2.17: on a network",
        "a question to ourselves over multicast came back: the firewall lets it through",
        "3 questions to everybody: no answer in 6 s",
        "12 addresses asked one by one: 12 answer",
    ),
)
TRUSTED, SHOWN_NOW = "5e" * 16 + "0a" * 16, "c4" * 16 + "7b" * 16
CHANGED = str(
    CertificateChangedError(
        Pin("urn:u07", TRUSTED, datetime(2026, 9, 3, 8, tzinfo=UTC)), SHOWN_NOW, "Unit U07"
    )
)
CERTIFICATE = ChangedCertificate(
    "urn:u07", "https://192.0.2.77:8443/td", TRUSTED, SHOWN_NOW, CHANGED
)
SECURITY = (
    "U03 and U05 share a password: whoever learns it at one has both. Give each its own.",
    "U06 lets anybody on the network change its settings: it asks for no password. Set one.",
    "U12 sends its password unencrypted: whoever listens there can read it. Turn on https in it.",
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


def half_met(house=None):
    """The same house in the middle of being met: one of each way that it can go."""
    house = house or house_of()
    lines = {unit.line.label: unit.line for unit in house.units.values()}
    at = "http://192.0.2.{}:8080/td"
    odd = {
        "U03": (Meeting.LOCKED, at.format(33), "It wants a password."),
        "U05": (Meeting.LOCKED, at.format(35), "It refused the password that was given."),
        "U07": (Meeting.HEARD, "https://192.0.2.77:8443/td", CHANGED),
        "U09": (Meeting.GONE, at.format(39), "Its reports have stopped."),
        "U12": (Meeting.HEARD, at.format(42), "Its description ends in the middle."),
        "U14": (Meeting.NOT_HEARD, "", ""),
    }
    expected = tuple(
        Expected(label, line.room, line.serial, where, state, said)
        for label, line in lines.items()
        for state, where, said in (odd.get(label, (Meeting.MET, at.format(int(label[1:])), "")),)
    )
    twin = Expected(
        "", "", lines["U01"].serial, at.format(201), Meeting.DOUBLE,
        f"{at.format(1)} says {lines['U01'].serial} too. Find out which one is meant.",
    )  # fmt: skip
    stranger = Expected(
        "", "", STRANGER.serial, STRANGER.url, Meeting.UNEXPECTED, "Place it, or leave it."
    )
    return replace(
        house,
        expected=(*expected, stranger, twin),
        locked=(
            LockedUnit("urn:u03", at.format(33), "Unit U03", ("digest", "basic")),
            LockedUnit("urn:u05", at.format(35), "Unit U05", ("basic", "bearer"), refused=True),
        ),
        security=SECURITY,
        troubles=(CHANGED,),
        certificates=(CERTIFICATE,),
    )


def talkative(serial):
    """What a unit says that puts its reports together from parts and says a good deal besides."""
    return LiveUnit(
        serial,
        LinkState.LIVE,
        0.4,
        reports=212,
        targets_mm=((6400, 3000),),
        sensor_targets_mm=((-400, 2600),),
        way="polled",
        reports_per_s=2.1,
        parts_age_s={"x of target 1": 0.4, "y of target 1": 3.2, "count": 0.9},
        occupied=True,
        areas_occupied={"1": True, "2": False},
        readings={"temperature": "21.4 °C", "humidity": "46 %", "supply": "4.96 V"},
        odd={"y of target 1 is no number": 3},
    )

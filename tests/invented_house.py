"""A small invented house for drawings and widgets: a living room, an L-shaped study, a hall."""

from datetime import UTC, datetime

import numpy as np

from fleet.model.findings import Finding, FindingKind
from fleet.model.geometry import Outline, Pose, Segment
from fleet.model.house import (
    Floor,
    HousePlan,
    Mark,
    MarkKind,
    ModuleType,
    PlannedUnit,
    Room,
    RoomKind,
    Site,
)
from fleet.model.sheets import Area, AreaKind, areas_to_items
from fleet.model.snapshot import HouseState, LinkState, LiveUnit, TrackView
from fleet.model.units import Reading, Unit
from fleet.numerics.frames import to_plan, to_sensor

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def box(x0: int, y0: int, x1: int, y1: int) -> Outline:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


PARLOUR = Room(
    "parlour",
    "Parlour",
    "ground",
    RoomKind.LIVING,
    box(0, 0, 4400, 6000),
    doors=(Segment((400, 0), (1250, 0)),),
    marks=(
        Mark(MarkKind.SEAT, "Sofa", ((3600, 5000),)),
        Mark(MarkKind.CABINET, "Dresser", box(1900, 1500, 2700, 1850)),
        Mark(MarkKind.MIRROR, "Mirror", ((4400, 2300), (4400, 3700))),
        Mark(MarkKind.FAN, "Fan", ((1300, 4600),)),
    ),
)
STUDY = Room(
    "study",
    "Study & <den>",
    "ground",
    RoomKind.OFFICE,
    ((4520, 0), (8520, 0), (8520, 2400), (6520, 2400), (6520, 5000), (4520, 5000)),
    doors=(Segment((4520, 500), (4520, 1350)), Segment((5000, 5000), (7400, 5000))),
    marks=(Mark(MarkKind.BED, "Day bed", box(6900, 0, 8520, 1000)),),
)
PASSAGE = Room(
    "passage",
    "Passage",
    "ground",
    RoomKind.CIRCULATION,
    box(0, -1720, 8520, -120),
    doors=(Segment((400, -120), (1250, -120)),),
)

_POSE = Pose(0, 3800, 0)
_PLANNED = (
    Area("sofa", "Sofa", AreaKind.WATCH, box(2350, 4650, 4100, 5650)),
    Area("screen", "Screen", AreaKind.IGNORE, box(3350, 2450, 4200, 3800)),
    Area("door", "Door", AreaKind.DOORWAY, box(150, 150, 1450, 950)),
)


def _in_view(area: Area, pose: Pose) -> Area:
    corners = to_sensor(np.array(area.outline_mm, dtype=float), pose)
    outline = tuple((round(x), round(y)) for x, y in corners)
    return Area(area.key, area.label, area.kind, outline)


def _parlour_unit() -> Unit:
    planned = tuple(_in_view(area, _POSE) for area in _PLANNED)
    moved = Area("sofa", "Sofa", AreaKind.WATCH, box(2350, 1000, 4100, 2000))
    found = (_in_view(moved, _POSE), *planned[1:])
    line = PlannedUnit("U1", "10-aa", "parlour", ModuleType.TRACKING, "r1", _POSE, areas=_PLANNED)
    reading = Reading(
        "10-aa",
        "http://127.0.0.1:1",
        "unit",
        areas_to_items(found),
        NOON,
        capabilities={"max_range_mm": 6500, "horizontal_field_of_view_deg": 100},
    )
    return Unit(line, areas_to_items(planned), reading)


def _plain(label: str, serial: str, room: str, kind: ModuleType, pose: Pose) -> Unit:
    return Unit(PlannedUnit(label, serial, room, kind, "r1", pose), {})


TRACKING = _parlour_unit()
STATIC = _plain("U2", "10-bb", "parlour", ModuleType.STATIC, Pose(4400, 0, 135_000))
UPSIDE_DOWN = _plain(
    "U3", "10-cc", "study", ModuleType.TRACKING, Pose(6520, 5000, 250_000, upside_down=True)
)
HALL_UNIT = _plain("U4", "10-dd", "passage", ModuleType.TRACKING, Pose(8520, -900, 180_000))


def house() -> HouseState:
    plan = HousePlan(
        Site("Invented house", demo=True),
        (Floor("ground", "Ground floor", 0),),
        (PARLOUR, STUDY, PASSAGE),
        tuple(unit.line for unit in (TRACKING, STATIC, UPSIDE_DOWN, HALL_UNIT)),
    )
    units = {unit.line.serial: unit for unit in (TRACKING, STATIC, UPSIDE_DOWN, HALL_UNIT)}
    finding = Finding("parlour", "U1", FindingKind.AREA_PAST_WALL, "an area is past the wall")
    return HouseState(plan, units, findings=(finding,))


def live(age_s: float = 0.1) -> dict[str, LiveUnit]:
    trail = tuple((900 + 120 * n, 500 + 210 * n) for n in range(12))
    tracks = (
        TrackView(1, (2350, 3150), 900, 120, held=False, outside=False, trail_mm=trail),
        TrackView(2, (3500, 5000), 20, 200, held=True, outside=False),
        TrackView(
            3,
            (5000, 3000),
            700,
            150,
            held=False,
            outside=True,
            trail_mm=((4700, 2600), (4850, 2800)),
        ),
    )
    targets = ((2400, 3120), (5000, 2980))
    in_view = to_sensor(np.array(targets, dtype=float), _POSE)
    assert to_plan(in_view, _POSE).round().astype(int).tolist() == [list(at) for at in targets]
    return {
        "10-aa": LiveUnit(
            "10-aa",
            LinkState.LIVE,
            age_s,
            40,
            targets_mm=targets,
            sensor_targets_mm=tuple((round(x), round(y)) for x, y in in_view),
            tracks=tracks,
        ),
        "10-bb": LiveUnit("10-bb", LinkState.LIVE, age_s, 40, ranges_mm=(2410,)),
        "10-cc": LiveUnit(
            "10-cc",
            LinkState.QUIET,
            12.0,
            3,
            targets_mm=((5500, 3000),),
            sensor_targets_mm=((-500, 2100),),
        ),
        "10-dd": LiveUnit("10-dd", LinkState.LIVE, 0.2, 9),
    }

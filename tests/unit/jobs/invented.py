"""A small invented house for the tests of jobs: one room, one tracking unit."""

from datetime import UTC, datetime

from fleet.jobs.planning import planned_sheet
from fleet.model.geometry import Pose
from fleet.model.house import (
    ApprovedBuild,
    Floor,
    HousePlan,
    Match,
    MatchWord,
    ModuleType,
    PlannedUnit,
    Room,
    RoomKind,
    Site,
)
from fleet.model.sheets import Area, AreaKind
from fleet.model.units import Reading, Unit

READ_AT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
BUILD = ApprovedBuild("R3", ModuleType.TRACKING, "2.1.3", "b213", 7, earlier=("2.0.4", "1.8.0"))
MATCH = Match("R3", ModuleType.TRACKING, "5.0", "2.1.3", MatchWord.ALLOWED)
AREA = Area(
    "sofa", "Sofa", AreaKind.WATCH, ((1000, 1000), (2000, 1000), (2000, 2000), (1000, 2000))
)
LINE = PlannedUnit(
    label="U01",
    serial="s-1",
    room="den",
    module_type=ModuleType.TRACKING,
    hardware_revision="R3",
    # on the left wall, looking along plan x: the unit's y is plan x, its x is minus plan y
    pose=Pose(0, 2000, 0),
    settings={"hold_time_s": 30},
    areas=(AREA,),
)
ROOM = Room("den", "Den", "ground", RoomKind.LIVING, ((0, 0), (4000, 0), (4000, 4000), (0, 4000)))
PLAN = HousePlan(
    Site("Invented cottage", demo=True),
    (Floor("ground", "Ground floor", 0),),
    (ROOM,),
    (LINE,),
    (BUILD,),
    (MATCH,),
)
PLANNED = planned_sheet(LINE, (BUILD,))
FOUND = {
    "hardware.revision": "R3",
    "module.type": "tracking",
    "module.firmware": "5.0",
    "build.version": "2.1.3",
    "build.id": "b213",
    "setting.hold_time_s": 30,
    "areas.sofa.kind": "watch",
    "areas.sofa.label": "Sofa",
    "areas.sofa.outline": "0,1000 1000,1000 1000,2000 0,2000",
}


def unit(found=None, as_left=None, signal_dbm=-58, line=LINE):
    sheet = FOUND | (found or {})
    sheet = {key: value for key, value in sheet.items() if value is not None}
    reading = Reading(
        "s-1", "http://127.0.0.1/td", "Den unit", sheet, READ_AT, signal_dbm=signal_dbm
    )
    left = FOUND if as_left is None else FOUND | as_left
    return Unit(line, planned_sheet(line, (BUILD,)), reading, left, READ_AT)

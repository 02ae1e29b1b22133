"""What tests of the inventory share: a small invented site, things to store, a clock that counts."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from fleet.model.geometry import Pose, Segment
from fleet.model.house import (
    ApprovedBuild,
    EarlierVisit,
    Floor,
    HousePlan,
    Mark,
    MarkKind,
    Match,
    MatchWord,
    ModuleType,
    PlannedUnit,
    Room,
    RoomKind,
    RoomVisit,
    Signature,
    Site,
    SoakNote,
)
from fleet.model.journal import WriteStep
from fleet.model.sheets import Area, AreaKind
from fleet.model.units import Reading, Sighting

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
LEFT_AT = datetime(2026, 9, 3, 15, 40, tzinfo=UTC)
SQUARE = ((0, 0), (3000, 0), (3000, 3000), (0, 3000))


@dataclass(slots=True)
class CountingClock:
    """Each look is a second later than the one before."""

    seconds: int = 0
    speed: float = field(default=1.0)

    def now(self) -> datetime:
        self.seconds += 1
        return NOON + timedelta(seconds=self.seconds)

    def monotonic_s(self) -> float:
        return float(self.seconds)


def line(label="U1", serial="S-1", room="hall", **changes) -> PlannedUnit:
    parts = {
        "module_type": ModuleType.TRACKING,
        "hardware_revision": "H4",
        "pose": Pose(10, 20, 90_000, upside_down=True, height_mm=1800),
        "settings": {"hold_time_s": 20, "indicator_light": False, "a word": "ä"},
        "areas": (Area("1", "Bed", AreaKind.WATCH, SQUARE),),
    }
    return PlannedUnit(label, serial, room, **(parts | changes))


def small_plan(name="Test Lodge") -> HousePlan:
    signature = Signature("Invented Client", "client", LEFT_AT, {"soak": "to be shown later"})
    visit = EarlierVisit(
        LEFT_AT,
        "Invented Installer",
        {"U1": {"setting.hold_time_s": 20, "build.version": "2.1.3"}, "U2": {"build.sequence": 40}},
        (RoomVisit("hall", ("walk",), ("soak",), signature), RoomVisit("loft", ("walk",))),
        (SoakNote("U1", 3600, 1),),
    )
    return HousePlan(
        Site(name, "An invented address", demo=True, note="Invented for tests."),
        (Floor("ground", "Ground floor", 0), Floor("first", "First floor", 1)),
        (
            Room(
                "hall", "Hall", "ground", RoomKind.CIRCULATION, SQUARE,
                (Segment((0, 100), (0, 900)),), (Mark(MarkKind.FAN, "Fan", ((5, 6),)),),
            ),
            Room("loft", "Loft", "first", RoomKind.BEDROOM, SQUARE),
        ),
        (line(), line("U2", "", "loft", areas=(), settings={}), line("U3", "S-3", "loft")),
        (ApprovedBuild("H4", ModuleType.TRACKING, "2.1.3", "a-40", 40, "ab", ("2.0.4", "1.8.0")),),
        (Match("H4", ModuleType.TRACKING, "5.2", "2.1.3", MatchWord.ALLOWED),),
        (visit,),
    )  # fmt: skip


def reading(serial="S-1", read_at=NOON, **changes) -> Reading:
    parts = {
        "title": "A unit",
        "sheet": {"setting.hold_time_s": 30, "setting.indicator_light": True, "module.type": "x"},
        "capabilities": {"max_areas": 4, "step_m": 0.5, "walks": True, "word": "w"},
        "area_revision": 7,
        "signal_dbm": -60,
        "other": {"mood": "good"},
        "missing": ("its build",),
        "complaints": ("two names",),
    }
    return Reading(serial, "http://127.0.0.1:9/", read_at=read_at, **(parts | changes))


def sighting(url="http://127.0.0.1:9/", heard_at=NOON) -> Sighting:
    return Sighting("Unit 1", url, heard_at, "unit-1.local")


def step(serial="S-1", hold_time_s=30) -> WriteStep:
    return WriteStep(
        serial,
        "U1",
        "http://127.0.0.1:9/",
        "settings",
        {"setting.hold_time_s": hold_time_s, "areas.1.kind": None},
        {"setting.hold_time_s": 20, "areas.1.kind": "watch"},
    )

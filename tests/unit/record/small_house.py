"""A small invented house, as a record would find it: three rooms, three units, one of them never read."""

from datetime import UTC, datetime, timedelta

from fleet.model.findings import Finding, FindingKind, ItemResult, Outcome, RoomResult
from fleet.model.geometry import Pose
from fleet.model.house import (
    EarlierVisit,
    Floor,
    HousePlan,
    ModuleType,
    PlannedUnit,
    Room,
    RoomKind,
    Signature,
    Site,
)
from fleet.model.sheets import Area, AreaKind, Value, areas_to_items
from fleet.model.snapshot import HouseState
from fleet.model.units import Reading, Unit

AT = datetime(2026, 11, 25, 10, 0, 0, tzinfo=UTC)
SERIALS = {"U01": "inv-0001", "U02": "inv-0002", "U03": "inv-0003"}
AREAS = (
    Area("a1", "Bed", AreaKind.WATCH, ((-900, 600), (900, 600), (900, 2600), (-900, 2600))),
    Area("a2", "Curtain", AreaKind.IGNORE, ((900, 600), (1500, 600), (1500, 2600), (900, 2600))),
    Area("a3", "Door", AreaKind.DOORWAY, ((-1500, 2600), (0, 2600), (0, 3200), (-1500, 3200))),
)
SETTINGS: dict[str, Value] = {
    "hardware.revision": "HX-2",
    "module.type": "tracking",
    "module.firmware": "3.1",
    "build.version": "2.4.0",
    "build.id": "b240-7",
    "setting.hold_time_s": 60,
    "setting.max_distance_mm": 6000,
    "setting.indicator_light": False,
}


def small_house(*, demo: bool = True, bedroom: str = "Bedroom under the eaves") -> HouseState:
    """Return the house; the bedroom is accepted with an exception, the study is not."""
    plan = HousePlan(
        Site("Teasel Cottage", "An invented address", demo=demo, note="Invented for tests."),
        (Floor("ground", "Ground floor", 0), Floor("first", "First floor", 1)),
        (
            _room("bedroom", bedroom, "first", RoomKind.BEDROOM),
            _room("study", "Study", "ground", RoomKind.OFFICE),
            _room("store", "Store", "ground", RoomKind.GARAGE),
        ),
        tuple(_line(label, room) for label, room in zip(SERIALS, ROOMS, strict=True)),
        visits=(EarlierVisit(AT - timedelta(days=40), "R. Invented"),),
    )
    units = {unit.line.serial: unit for unit in map(_unit, plan.units)}
    return HouseState(
        plan,
        units=units,
        findings=FINDINGS,
        rooms={room.key: _result(room.key) for room in plan.rooms},
        signatures={"bedroom": SIGNATURE},
    )


ROOMS = ("bedroom", "study", "store")
SIGNATURE = Signature(
    "A. Invented",
    "client",
    AT - timedelta(minutes=3),
    {"soak": "the house is lived in; soak follows"},
)
FINDINGS = (
    Finding(
        "bedroom",
        "U01",
        FindingKind.SETTING_CHANGED,
        "the hold time is 60 s, and 90 s was left",
        {"found": 60, "as_left": 90, "setting": "hold_time_s"},
    ),
    Finding("study", "", FindingKind.UNSIGNED, "all shown on the earlier visit, never accepted"),
)


def _room(key: str, name: str, floor: str, kind: RoomKind) -> Room:
    return Room(key, name, floor, kind, ((0, 0), (4400, 0), (4400, 3600), (0, 3600)))


def _line(label: str, room: str) -> PlannedUnit:
    pose = Pose(2200, 0, 90000)
    return PlannedUnit(
        label, SERIALS[label], room, ModuleType.TRACKING, "HX-2", pose, areas=AREAS[:1]
    )


def _unit(line: PlannedUnit) -> Unit:
    if line.label == "U03":
        return Unit(line, {})
    sheet = SETTINGS | (areas_to_items(AREAS) if line.label == "U01" else {})
    found = Reading(
        line.serial, "http://127.0.0.1:1/td", line.label, sheet, AT - timedelta(minutes=20),
        other={"breaths": "14 a minute"},
    )  # fmt: skip
    left = sheet | {"setting.hold_time_s": 90}
    return Unit(line, {}, found, left, AT - timedelta(days=40))


def _result(room: str) -> RoomResult:
    items = (
        _item("units-answer", "auto", Outcome.PASS, "all 1 were read"),
        _item("settings", "auto", Outcome.FAIL, "U01: the hold time is 60 s, and 90 s was left"),
        _item("soak", "auto", Outcome.INCONCLUSIVE, "0 false episodes in 1 h: at most 72 a day"),
        _item("still", "auto", Outcome.NOT_TESTED, "there is no trial for it yet"),
        _item("people-told", "tick", Outcome.NOT_TESTED, "not done yet"),
        _item("acceptance", "signature", *_accepted(room)),
    )
    return RoomResult(room, items, "A. Invented, client" if room == "bedroom" else "")


def _accepted(room: str) -> tuple[Outcome, str]:
    if room == "bedroom":
        return Outcome.PASS, "accepted by A. Invented, client"
    return Outcome.NOT_TESTED, "nobody has accepted the room at this visit"


def _item(key: str, evidence: str, outcome: Outcome, reason: str) -> ItemResult:
    return ItemResult(
        key, f"The room shows its {key}, as agreed with the client.", evidence, outcome, reason
    )


SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 44 36" width="44mm" height="36mm">'
    '<rect x="1" y="1" width="42" height="34" fill="none" stroke="#1D2328" stroke-width="1.5"/>'
    '<text x="6" y="10" font-family="B612" font-size="4">U01</text></svg>'
)
SVGS = dict.fromkeys(ROOMS, SVG)

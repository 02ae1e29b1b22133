"""Marlpit House, the invented demo house, and what a careful installer finds in it.

`resources/houses/marlpit/` holds what `marlpit()` makes: run this module to write it again.
"""

import random
from pathlib import Path

from fleet.model.geometry import Outline, Point, Pose, Segment
from fleet.model.house import Floor, Mark, MarkKind, Room, RoomKind, Site, SoakNote
from fleet.model.sheets import AreaKind
from tests.houses import faults
from tests.houses.house import (
    NOTE,
    House,
    Hung,
    S,
    T,
    V,
    documents,
    findings,
    fitted,
    rectangle,
    write_house,
)
from tests.houses.items import checklist_items
from tests.houses.visit import visited

EXPECTED = findings(
    [
        ("Hall", "U01", "ghost"),
        ("Living room", "U02", "mirrored-mount"),
        ("Living room", "U03", "setting-changed"),
        ("Kitchen-diner", "U04", "area-past-wall"),
        ("Kitchen-diner", "U05", "build-behind"),
        ("Kitchen-diner", "U05", "match-unknown"),
        ("Office", "U06", "bleed-through"),
        ("Garage", "U07", "weak-link"),
        ("Stairs and landing", "U09", "module-swapped"),
        ("Bedroom 1", "U11", "soak-inconclusive"),
        ("Bedroom 2", "U12", "labels-crossed"),
        ("Bedroom 3", "", "unsigned"),
    ]
)

WATCH, IGNORE, DOORWAY = AreaKind.WATCH, AreaKind.IGNORE, AreaKind.DOORWAY


def _room(
    key: str,
    name: str,
    floor: str,
    kind: RoomKind,
    outline: Outline,
    doors: tuple[tuple[Point, Point], ...],
    *marks: Mark,
) -> Room:
    return Room(key, name, floor, kind, outline, tuple(Segment(*door) for door in doors), marks)


def _bed(label: str, x0: int, y0: int, x1: int, y1: int) -> Mark:
    return Mark(MarkKind.BED, label, rectangle(x0, y0, x1, y1))


def _seat(label: str, x_mm: int, y_mm: int) -> Mark:
    return Mark(MarkKind.SEAT, label, ((x_mm, y_mm),))


GROUND_ROOMS = (
    _room(
        "hall",
        "Hall",
        "ground",
        RoomKind.CIRCULATION,
        rectangle(0, 0, 1600, 6000),
        (
            ((0, 4700), (0, 5600)),
            ((1600, 1900), (1600, 2750)),
            ((1600, 3700), (1600, 4600)),
            ((400, 6000), (1250, 6000)),
        ),
    ),
    _room(
        "living-room",
        "Living room",
        "ground",
        RoomKind.LIVING,
        rectangle(1720, 3320, 6120, 9320),
        (((1720, 3700), (1720, 4600)), ((1720, 7000), (1720, 7900))),
        _seat("Sofa", 5600, 6600),
        _seat("Armchair", 2600, 8600),
        Mark(MarkKind.CABINET, "Bookcase", rectangle(2200, 9000, 3600, 9320)),
    ),
    _room(
        "kitchen-diner",
        "Kitchen-diner",
        "ground",
        RoomKind.KITCHEN,
        rectangle(-4400, 6120, 1600, 9720),
        (
            ((400, 6120), (1250, 6120)),
            ((1600, 7000), (1600, 7900)),
            ((-4400, 7400), (-4400, 8300)),
        ),
        _seat("Table, window side", -1400, 9100),
        Mark(MarkKind.CABINET, "Worktop", rectangle(-4400, 6120, -3000, 6720)),
    ),
    _room(
        "office",
        "Office",
        "ground",
        RoomKind.OFFICE,
        rectangle(1720, 0, 4720, 3200),
        (((1720, 1900), (1720, 2750)), ((4720, 2000), (4720, 2850))),
        Mark(MarkKind.DESK, "Desk", rectangle(2300, 0, 3900, 700)),
        _seat("Desk chair", 3100, 1100),
    ),
    _room(
        "garage",
        "Garage",
        "ground",
        RoomKind.GARAGE,
        rectangle(4840, -3200, 7840, 3200),
        (((4840, 2000), (4840, 2850)), ((5150, -3200), (7550, -3200))),
    ),
)

UPPER_ROOMS = (
    _room(
        "landing",
        "Stairs and landing",
        "first",
        RoomKind.CIRCULATION,
        rectangle(0, 0, 1600, 5000),
        (
            ((0, 2100), (0, 2900)),
            ((0, 3700), (0, 4450)),
            ((1600, 3300), (1600, 4150)),
            ((100, 5000), (950, 5000)),
        ),
    ),
    _room(
        "bedroom-1",
        "Bedroom 1",
        "first",
        RoomKind.BEDROOM,
        rectangle(1720, 0, 6120, 4400),
        (((1720, 3300), (1720, 4150)),),
        _bed("Double bed", 3120, 2400, 4720, 4400),
    ),
    _room(
        "bedroom-2",
        "Bedroom 2",
        "first",
        RoomKind.BEDROOM,
        rectangle(0, 5120, 4400, 8720),
        (((100, 5120), (950, 5120)),),
        _bed("Bed", 0, 7720, 2000, 8720),
    ),
    _room(
        "bedroom-3",
        "Bedroom 3",
        "first",
        RoomKind.BEDROOM,
        rectangle(-3120, 0, -120, 3200),
        (((-120, 2100), (-120, 2900)),),
        _bed("Cot bed", -3120, 2400, -1620, 3200),
    ),
    _room(
        "bathroom",
        "Bathroom",
        "first",
        RoomKind.BATHROOM,
        rectangle(-3120, 3320, -120, 5720),
        (((-120, 3700), (-120, 4450)),),
        _seat("Bath", -2600, 3700),
    ),
)

UNITS = (
    Hung(
        "U01",
        "hall",
        T,
        Pose(800, 0, 90_000),
        (
            ("Passage", WATCH, -600, 400, 600, 4000),
            ("To the kitchen", DOORWAY, -500, 4600, 500, 5800),
        ),
        hold_time_s=20,
    ),
    Hung(
        "U02",
        "living-room",
        T,
        Pose(3920, 3320, 90_000),
        (("Sofa", WATCH, 700, 2300, 1900, 4500), ("Armchair", WATCH, -1900, 4600, -700, 5600)),
        hold_time_s=60,
    ),
    Hung("U03", "living-room", S, Pose(6120, 9320, 225_000, height_mm=1900)),
    Hung(
        "U04",
        "kitchen-diner",
        T,
        Pose(-1400, 6120, 90_000),
        (
            ("Table", WATCH, -900, 1500, 1100, 3400),
            ("Garden door", DOORWAY, -2700, 1200, -1500, 2600),
        ),
    ),
    Hung("U05", "kitchen-diner", S, Pose(-4400, 9720, 315_000)),
    Hung("U06", "office", S, Pose(4720, 0, 135_000, height_mm=1800), max_distance_mm=8000),
    Hung("U07", "garage", S, Pose(4840, -3200, 45_000)),
    Hung(
        "U08",
        "landing",
        T,
        Pose(800, 0, 90_000),
        (("Stair head", WATCH, -600, 500, 600, 2600),),
        hold_time_s=20,
    ),
    Hung("U09", "landing", T, Pose(1200, 5000, 270_000), hold_time_s=20),
    Hung("U10", "bedroom-1", T, Pose(6120, 0, 135_000)),
    Hung("U11", "bedroom-1", V, Pose(3920, 4400, 270_000, height_mm=1600), hold_time_s=60),
    Hung("U12", "bedroom-2", S, Pose(4400, 8720, 225_000, height_mm=1900)),
    Hung("U13", "bedroom-3", S, Pose(-3120, 0, 45_000, height_mm=1900)),
    Hung("U14", "bathroom", S, Pose(-3120, 5720, 315_000, height_mm=1900), hold_time_s=15),
)

EXCEPTIONS = {
    "hall": {"soak": "people came and went; to be shown later"},
    "garage": {"soak": "the garage door was being painted; to be shown later"},
    "bedroom-1": {"soak": "one hour was all there was time for"},
}

SOAKS = (
    SoakNote("U03", 43_200, 0),
    SoakNote("U06", 43_200, 0),
    SoakNote("U08", 43_200, 0),
    SoakNote("U11", 3600, 0),
)


def marlpit() -> House:
    """Build the demo house with all its faults."""
    house = fitted(
        Site("Marlpit House", "An invented address", demo=True, note=NOTE),
        (Floor("ground", "Ground floor", 0), Floor("first", "First floor", 1)),
        GROUND_ROOMS + UPPER_ROOMS,
        UNITS,
        dice=random.Random("Marlpit House, invented"),
        hardware={T: "H4", S: "H4", V: "H6"},
        firmware={T: "5.2", S: "3.7", V: "1.4"},
        versions=("2.1.3", "2.0.4", "1.8.0"),
    )
    house = faults.area_past_wall(house, "U04", "1", 4000)
    house = faults.build_behind(house, "U05", 2, "3.1")
    house = visited(
        house,
        items=checklist_items(),
        exceptions=EXCEPTIONS,
        soaks=SOAKS,
        signer="Invented Client",
        by="Invented Installer",
    )
    house = faults.unsigned(house, "bedroom-3")
    return _since_the_visit(house)


def _since_the_visit(house: House) -> House:
    house = faults.mirror_in(house, "hall", (0, 900), (0, 3000), 700_000)
    house = faults.upside_down(house, "U02")
    house = faults.setting_changed(house, "U03", "hold_time_s", 120)
    house = faults.leaky_wall(house, "office", (1660, 200), (1660, 3000), 530_000)
    house = faults.weak_link(house, "U07", -82, 120_000)
    house = faults.module_swapped(house, "U09", S, "3.7")
    house = faults.fan_in(house, "bedroom-1", (3920, 2200))
    house = faults.labels_crossed(house, "U12", "U13")
    return faults.still_sitter(house, "bathroom", 41)


if __name__ == "__main__":
    shipped = Path(__file__).resolve().parents[2] / "resources" / "houses" / "marlpit"
    write_house(shipped, *documents(marlpit()))

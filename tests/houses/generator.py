"""A maker of houses: each seed gives another one, every fault of the demo house in another place.

Rooms, their names and outlines, labels, serials, versions and boards differ from seed to seed, and
one room at least is L-shaped. A house without faults has the same rooms and units.
"""

import random
from typing import Any

from fleet.model.house import Floor, RoomKind, Site, SoakNote
from tests.houses import faults
from tests.houses.casting import Cast, cast
from tests.houses.hanging import Hanging, hang
from tests.houses.house import (
    NOTE,
    House,
    S,
    T,
    V,
    documents,
    findings,
    fitted,
    write_house,
)
from tests.houses.items import checklist_items
from tests.houses.layout import bounds, drawn_rooms
from tests.houses.visit import visited

__all__ = ["make_house", "write_house"]

Documents = tuple[dict[str, Any], dict[str, Any], list[dict[str, str]]]
ATTEMPTS = 500
VERSIONS = (
    ("3.4.0", "3.3.1", "3.1.0"),
    ("1.12.2", "1.12.0", "1.9.7", "1.8.0"),
    ("0.9.5", "0.9.4", "0.8.0"),
)
LINKS = ((-82, 120_000), (-86, 20_000), (-61, 90_000))
CHANGES = (("hold_time_s", 120), ("hold_time_s", 300), ("indicator_light", True))


def make_house(seed: int, *, faults: bool = True) -> Documents:
    """Make the house of a seed: plan document, truth document and the findings to expect.

    Each finding holds the room's name, the unit's label ("" for a room's own) and the kind. Those
    that a reading shows and those that one lap shows are all there; what needs a longer trial isn't.
    """
    for attempt in range(ATTEMPTS):
        dice = random.Random(f"house {seed}, attempt {attempt}")
        floors, rooms = drawn_rooms(dice)
        hanging = hang(rooms, dice)
        parts = cast(hanging, dice) if hanging else None
        if hanging and parts:
            house = _fit(hanging, parts, seed, dice, floors)
            house = _go_wrong(house, parts, dice, faults=faults)
            return *documents(house), _expected(hanging, parts) if faults else []
    raise AssertionError(f"no house for seed {seed} in {ATTEMPTS} attempts")


def _fit(
    hanging: Hanging, parts: Cast, seed: int, dice: random.Random, floors: tuple[Floor, ...]
) -> House:
    board, other = dice.sample(("K1", "K2", "R7", "R8"), 2)
    return fitted(
        Site(f"Made house {seed}", demo=True, note=NOTE),
        floors,
        hanging.rooms,
        hanging.units,
        dice=dice,
        hardware={T: board, S: board, V: other},
        firmware={T: "8.1", S: "6.0", V: "2.2"},
        versions=dice.choice(VERSIONS),
    )


def _go_wrong(house: House, parts: Cast, dice: random.Random, *, faults: bool) -> House:
    if faults:
        house = _before_the_visit(house, parts, dice)
    lone = parts.soak.label
    soaks = [(unit.label, 43_200, 0) for unit in dice.sample(house.plan.units, 5)]
    soaks = [soak for soak in soaks if soak[0] != lone]
    soaks.append((lone, *(dice.choice(((3600, 0), (7200, 1))) if faults else (86_400, 1))))
    left_open = {room.key for room in dice.sample(house.plan.rooms, 3)} | {parts.soak.room}
    house = visited(
        house,
        items=checklist_items(),
        exceptions={key: {"soak": "to be shown at the next visit"} for key in left_open},
        soaks=tuple(SoakNote(*soak) for soak in soaks),
        signer="Invented Person",
        by="Invented Fitter",
    )
    return _since_the_visit(house, parts, dice) if faults else house


def _before_the_visit(house: House, parts: Cast, dice: random.Random) -> House:
    unit = parts.past_wall
    nearest = max(range(len(unit.areas)), key=lambda i: unit.areas[i][5])
    reach = _depth_mm(house, unit.room, unit.pose.heading_mdeg) + dice.randrange(300, 501, 50)
    house = faults.area_past_wall(house, unit.label, str(nearest + 1), reach)
    behind = dice.randrange(1, min(3, len(house.versions)))
    return faults.build_behind(house, parts.build.label, behind, "0.7")


def _depth_mm(house: House, room_key: str, heading_mdeg: int) -> int:
    room = next(room for room in house.plan.rooms if room.key == room_key)
    x0, y0, x1, y1 = bounds(room.outline_mm)
    return x1 - x0 if heading_mdeg in (0, 180_000) else y1 - y0


def _since_the_visit(house: House, parts: Cast, dice: random.Random) -> House:
    house = faults.unsigned(house, parts.unsigned.key)
    house = faults.mirror_in(house, parts.placed.ghost.room, *parts.placed.mirror, 700_000)
    house = faults.upside_down(house, parts.mirrored.label)
    house = faults.setting_changed(house, parts.setting.label, *dice.choice(CHANGES))
    leak = parts.placed.leak
    passes = round(dice.uniform(0.32, 0.4) / leak.share * 1_000_000)
    house = faults.leaky_wall(house, parts.placed.bleed.room, leak.start, leak.end, passes)
    house = faults.weak_link(house, parts.link.label, *dice.choice(LINKS))
    swapped = (S, "6.0") if parts.swapped.module_type is T else (T, "8.1")
    house = faults.module_swapped(house, parts.swapped.label, *swapped)
    house = faults.labels_crossed(house, *(unit.label for unit in parts.placed.crossed))
    house = _with_fan(house, dice)
    return faults.still_sitter(house, parts.sitter.room, 41)


def _with_fan(house: House, dice: random.Random) -> House:
    room = dice.choice([room for room in house.plan.rooms if room.kind is RoomKind.BEDROOM])
    x0, y0, x1, y1 = bounds(room.outline_mm)
    return faults.fan_in(house, room.key, ((x0 + x1) // 2, (y0 + y1) // 2))


def _expected(hanging: Hanging, parts: Cast) -> list[dict[str, str]]:
    kinds = {
        "setting-changed": parts.setting,
        "area-past-wall": parts.past_wall,
        "build-behind": parts.build,
        "match-unknown": parts.build,
        "weak-link": parts.link,
        "module-swapped": parts.swapped,
        "soak-inconclusive": parts.soak,
        "mirrored-mount": parts.mirrored,
        "bleed-through": parts.placed.bleed,
        "labels-crossed": parts.placed.crossed[0],
        "ghost": parts.placed.ghost,
    }
    rows = [(hanging.room(unit.room).name, unit.label, kind) for kind, unit in kinds.items()]
    return findings([*rows, (parts.unsigned.name, "", "unsigned")])

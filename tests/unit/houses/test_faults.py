"""What is wrong in each house, counted by holding its three sheets against each other by hand."""

import msgspec
import pytest

from fleet.model.house import HousePlan, MatchWord
from fleet.simulator.truth import Truth
from tests.houses import marlpit
from tests.houses.generator import make_house
from tests.houses.house import documents
from tests.houses.visit import found_sheet

KINDS = {
    *("setting-changed", "area-past-wall", "build-behind", "match-unknown", "weak-link"),
    *("module-swapped", "unsigned", "soak-inconclusive"),
    *("mirrored-mount", "bleed-through", "labels-crossed", "ghost"),
}
ACCEPTED_EMPTY_S = {0: 43_200, 1: 86_400}  # with so many episodes: upper bound ≤ 6 a day


def read(plan_document, truth_document) -> set[tuple[str, str]]:
    """Unit or room and kind of everything that reading and looking at the truth shows."""
    plan, truth = msgspec.convert(plan_document, HousePlan), msgspec.convert(truth_document, Truth)
    rows = {(room_of_mirror(plan, mirror), "ghost") for mirror in truth.mirrors}
    rows |= {(units_in(plan, leak.seen_from)[0], "bleed-through") for leak in truth.leaky_walls}
    visit = plan.visits[-1]
    for unit in plan.units:
        true = next(true for true in truth.units if true.serial == unit.serial)
        rows |= {(unit.label, kind) for kind in wrong_with(plan, unit, true, visit)}
    rows |= {(note.unit, "soak-inconclusive") for note in visit.soaks if not enough(note)}
    signless = [seen.room for seen in visit.rooms if not seen.open and not seen.signature]
    return rows | {(room, "unsigned") for room in signless}


def enough(note) -> bool:
    return note.empty_s >= ACCEPTED_EMPTY_S[note.episodes]


def units_in(plan, room) -> list[str]:
    return [unit.label for unit in plan.units if unit.room == room]


def room_of_mirror(plan, mirror) -> str:
    ends = (mirror.segment.start_mm, mirror.segment.end_mm)
    marked = [room.key for room in plan.rooms for mark in room.marks if mark.points_mm == ends]
    return units_in(plan, marked[0])[0]


def wrong_with(plan, unit, true, visit) -> set[str]:
    found, left = found_sheet(true), visit.as_left[unit.label]
    kinds = set()
    if true.room != unit.room:
        kinds.add("crossed")
    if true.pose.upside_down != unit.pose.upside_down:
        kinds.add("mirrored-mount")
    if true.module_type is not unit.module_type:
        return kinds | {"module-swapped"}
    if found != left:
        kinds.add("setting-changed")
        changed = {key for key in found if found[key] != left.get(key)}
        assert all(key.startswith("setting.") for key in changed)
    if {f"setting.{key}": value for key, value in unit.settings.items()} != {
        key: value for key, value in left.items() if key.startswith("setting.")
    }:
        kinds.add("planned otherwise")
    if any(max(y for _, y in area.outline_mm) > 0 for area in true.areas) and past(unit, true):
        kinds.add("area-past-wall")
    return kinds | build_kinds(plan, true) | link_kinds(true)


def past(unit, true) -> bool:
    def size(areas) -> list[int]:
        spans = [[max(axis) - min(axis) for axis in zip(*a.outline_mm, strict=True)] for a in areas]
        return [wide * deep for wide, deep in spans]

    return size(unit.areas) != size(true.areas)


def build_kinds(plan, true) -> set[str]:
    (approved,) = [
        build
        for build in plan.approved_builds
        if (build.hardware_revision, build.module_type)
        == (true.hardware_revision, true.module_type)
    ]
    words = [
        match.match
        for match in plan.matches
        if (match.hardware_revision, match.module_type, match.module_firmware, match.version)
        == (true.hardware_revision, true.module_type, true.module_firmware, approved.version)
    ]
    behind = true.build.version in approved.earlier
    assert behind or true.build.image_digest == approved.image_digest
    return ({"build-behind"} if behind else set()) | (
        set() if words == [MatchWord.ALLOWED] else {"match-unknown"}
    )


def link_kinds(true) -> set[str]:
    return {"weak-link"} if true.signal_dbm < -80 or true.lost_ppm > 50_000 else set()


def expected_rows(plan, expected) -> set[tuple[str, str]]:
    """Rows as `read` gives them."""
    keys = {room["name"]: room["key"] for room in plan["rooms"]}
    return {(row["unit"] or keys[row["room"]], row["kind"]) for row in expected}


def agree(plan, truth, expected) -> None:
    seen = read(plan, truth)
    crossed = sorted(label for label, kind in seen if kind == "crossed")
    rows = {row for row in seen if row[1] != "crossed"}
    wanted = expected_rows(plan, expected)
    assert len(crossed) == (2 if expected else 0)
    assert rows | {(label, "labels-crossed") for label in crossed[:1]} == wanted


def test_marlpit_shows_its_twelve_findings_and_nothing_else():
    agree(*documents(marlpit.marlpit()), marlpit.EXPECTED)
    assert len(marlpit.EXPECTED) == 12


def test_expected_rooms_are_those_of_the_schedule():
    plan, _ = documents(marlpit.marlpit())
    check_rooms(plan, marlpit.EXPECTED)


def check_rooms(plan, expected) -> None:
    names = {room["key"]: room["name"] for room in plan["rooms"]}
    rooms = {unit["label"]: names[unit["room"]] for unit in plan["units"]}
    for row in expected:
        assert row["room"] == rooms[row["unit"]] if row["unit"] else row["room"] in names.values()


@pytest.mark.parametrize("seed", range(1, 26))
def test_a_made_house_shows_every_kind_once_and_nothing_else(seed):
    plan, truth, expected = make_house(seed)
    agree(plan, truth, expected)
    assert {row["kind"] for row in expected} == KINDS
    assert len(expected) == len(KINDS)
    check_rooms(plan, expected)


@pytest.mark.parametrize("seed", range(1, 26))
def test_a_faultless_house_shows_nothing(seed):
    plan, truth, expected = make_house(seed, faults=False)
    assert expected == []
    agree(plan, truth, expected)


def test_one_seed_makes_one_house_and_two_seeds_make_two():
    assert make_house(4) == make_house(4)
    (one, one_truth, rows), (other, other_truth, other_rows) = make_house(4), make_house(5)
    assert {unit["serial"] for unit in one_truth["units"]}.isdisjoint(
        unit["serial"] for unit in other_truth["units"]
    )
    assert [room["outline_mm"] for room in one["rooms"]] != [
        room["outline_mm"] for room in other["rooms"]
    ]
    assert rows != other_rows


@pytest.mark.parametrize("seed", range(1, 26))
def test_a_made_house_has_a_room_with_six_corners(seed):
    plan, _, _ = make_house(seed)
    assert 6 in {len(room["outline_mm"]) for room in plan["rooms"]}


def test_no_fault_stays_with_one_label_or_room_over_many_houses():
    rows = [row for seed in range(1, 26) for row in make_house(seed)[2]]
    for kind in KINDS:
        assert len({row["room"] for row in rows if row["kind"] == kind}) >= 4

"""A swap in the inventory: one transaction, history kept, and only what rested on the old one lapses."""

import contextlib
import os
import signal
import sqlite3
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta

import msgspec
import pytest
from sqlalchemy import Engine, event

from fleet.engine.evidence_store import load_lap, save_lap
from fleet.engine.house_state import build_house_state
from fleet.engine.lapses import load_lapses
from fleet.engine.swapping import (
    evidence_of,
    lap_without,
    mount_as_said,
    planned_swap,
    signs_of,
    swap,
)
from fleet.inventory.inventory import open_inventory
from fleet.jobs.changes import pending_changes
from fleet.jobs.swap_lapses import LapseKind
from fleet.jobs.swap_signs import SwapKind
from fleet.model.errors import PlanError
from fleet.model.findings import FindingKind, Outcome
from fleet.model.geometry import Pose
from fleet.model.house import ModuleType, Signature
from fleet.model.meeting import Expected, Meeting
from fleet.model.sheets import Area, AreaKind, Standing
from fleet.trials.lap_evidence import Beyond, LapEvidence, Mount
from tests.architecture.source_rules import ROOT
from tests.inventories import NOON, CountingClock, line, reading, small_plan

SHEET = {
    "hardware.revision": "H4",
    "module.type": "tracking",
    "module.firmware": "5.2",
    "build.version": "2.1.3",
    "setting.hold_time_s": 30,
    "setting.indicator_light": True,
}
CAN = {"max_areas": 4, "max_range_mm": 7000, "area_shapes": "rectangle"}
WORDS = {"by": "A. Fitter", "why": "it fell off the wall"}
FIT = Mount(5, 100, 200, 900, 1900, Pose(10, 20, 90_000))
LAP = LapEvidence(
    {"hall": {"S-1": 900_000, "S-3": 10_000}, "loft": {"S-1": 60_000, "S-3": 800_000}},
    {"S-1": FIT, "S-3": FIT},
    {"S-1": Beyond(70_000, 600), "S-3": Beyond(1, 2)},
    {"hall": "2026-11-25T12:00:00Z", "loft": "2026-11-25T12:02:00Z"},
)


def fill(inventory):
    """Two units that were read, walked, ticked and signed, and one that nobody scheduled."""
    plan = small_plan()
    ahead = Area("1", "Bed", AreaKind.WATCH, ((0, 500), (3000, 500), (3000, 3000), (0, 3000)))
    units = (replace(plan.units[0], areas=(ahead,)), *plan.units[1:])
    inventory.add_site(replace(plan, units=units))
    own_areas = {"areas.9.kind": "watch", "areas.9.outline": "0,0 9,0 9,9"}
    inventory.save_reading(reading("S-1", sheet=SHEET | own_areas, capabilities=CAN))
    inventory.save_reading(reading("S-3", NOON - timedelta(days=2), sheet=SHEET, capabilities=CAN))
    inventory.save_reading(reading("N-1", sheet=SHEET, capabilities=CAN))
    words = {"why": "the client asked", "by": "A. Fitter"}
    inventory.save_planned_item("S-1", "setting.hold_time_s", 45, **words)
    save_lap(inventory, LAP)
    inventory.save_evidence("link", "S-1", {"lost_ppm": 5, "reports": 900})
    for item in ("label-readable", "people-told", "as-fitted-photo"):
        inventory.save_tick("hall", item, by="A. Fitter", said="done")
    for room in ("hall", "loft"):
        inventory.save_signature(room, Signature("C. Lient", "client", NOON))
    inventory.save_as_left("S-1", SHEET, NOON, why="signed")


@pytest.fixture
def inventory(tmp_path):
    with open_inventory(tmp_path / "data", CountingClock()) as opened:
        fill(opened)
        yield opened


def house_of(inventory):
    return build_house_state(inventory, load_lap(inventory), {}, NOON)


def swapped(inventory, serial="N-1", **more):
    made = planned_swap(inventory, house_of(inventory), "U1", serial, **more)
    swap(inventory, made, **WORDS)
    return made


def outcomes(house, room):
    return {item.key: item.outcome for item in house.rooms[room].items}


def test_the_line_takes_the_new_serial_and_decisions_come_along(inventory):
    before = inventory.plan().units[0]
    swapped(inventory)
    after = inventory.plan().units[0]
    assert after.serial == "N-1"
    assert (after.label, after.room, after.pose) == (before.label, before.room, before.pose)
    assert after.areas == before.areas
    decided = inventory.planned_decisions()["N-1"]["setting.hold_time_s"]
    assert (decided.value, decided.by, decided.why) == (45, "A. Fitter", "the client asked")


def test_what_the_new_one_should_hold_waits_in_the_review(inventory):
    swapped(inventory)
    house = house_of(inventory)
    changes = {change.key: change for change in house.changes if change.serial == "N-1"}
    assert changes["setting.hold_time_s"].planned == 45
    assert changes["areas.1.outline"].found is None
    assert {change.standing for change in changes.values()} == {Standing.TO_APPLY}


def test_the_history_of_the_old_serial_stays(inventory):
    kept = inventory.sheets_of_unit("S-1")
    found, lap = inventory.readings()["S-1"], inventory.journal()
    swapped(inventory)
    assert inventory.sheets_of_unit("S-1") == kept
    assert inventory.readings()["S-1"] == found
    assert inventory.journal()[: len(lap)] == lap
    assert "setting.hold_time_s" in inventory.planned_decisions()["S-1"]
    assert inventory.first_broken_row() is None
    assert inventory.unaccounted() == ()


def test_the_journal_says_between_which_sheets_it_was_and_what_became_of_each_item(inventory):
    made = swapped(inventory)
    (row,) = inventory.journal_of("swapped")
    assert (row.subject, row.detail["by"], row.detail["why"]) == ("N-1", *WORDS.values())
    assert (row.detail["before"]["serial"], row.detail["line"]["serial"]) == ("S-1", "N-1")
    assert row.detail["kind"] == "unit replaced"
    assert row.detail["lapses"] == list(made.lapses)
    assert len(row.detail["old_left_sha256"]) == len(row.detail["new_found_sha256"]) == 64
    kept = {one.detail["sha256"] for one in inventory.journal_of("evidence-kept")}
    assert set(row.detail["evidence"]) <= kept


def test_verdicts_that_rested_on_the_old_one_lapse_and_no_others(inventory):
    before = house_of(inventory)
    assert outcomes(before, "hall")["right-unit"] is Outcome.PASS
    made = swapped(inventory)
    kinds = {lapse.kind for lapse in made.lapsed}
    assert kinds == set(LapseKind)
    house, lap = house_of(inventory), load_lap(inventory)
    assert lap == lap_without(LAP, "S-1", "hall")
    assert lap.mounts == {"S-3": FIT}
    assert [column["S-3"] for column in lap.shares_ppm.values()] == [10_000, 800_000]
    assert house.plan.visits[-1].soaks == ()
    hall = outcomes(house, "hall")
    for key in ("right-unit", "mount", "ghosts", "bleed-through", "soak", "label-readable"):
        assert hall[key] is Outcome.NOT_TESTED, key
    assert hall["as-fitted-photo"] is Outcome.NOT_TESTED
    assert hall["people-told"] is Outcome.PASS
    assert set(house.signatures) == {"loft"}
    assert outcomes(house, "loft") == outcomes(before, "loft")
    assert house.units["N-1"].as_left is None


def test_nothing_that_was_shown_is_deleted(inventory):
    tables = ("evidence", "document", "tick", "signature", "soak_note", "sheet", "reading")
    before = counts_of(inventory, tables)
    swapped(inventory)
    after = counts_of(inventory, tables)
    assert [one - two for one, two in zip(after, before, strict=True)] == [2, 2, 0, 0, 0, 0, 0]


def counts_of(inventory, tables):
    with contextlib.closing(sqlite3.connect(inventory.path)) as file:
        asks = [f"SELECT count(*) FROM {table}" for table in tables]  # noqa: S608 - names of our own
        return [file.execute(ask).fetchone()[0] for ask in asks]


def test_what_is_shown_anew_counts_again(inventory):
    swapped(inventory)
    later = max(one.until["tick:label-readable"] for one in load_lapses(inventory).values())
    inventory.save_tick("hall", "label-readable", by="A. Fitter", said="the new one")
    signed = Signature("C. Lient", "client", later + timedelta(hours=1))
    inventory.save_signature("hall", signed)
    inventory.save_as_left("N-1", SHEET, later + timedelta(hours=1), why="signed")
    house = house_of(inventory)
    assert outcomes(house, "hall")["label-readable"] is Outcome.PASS
    assert house.signatures["hall"] == signed
    assert house.units["N-1"].as_left == SHEET


def test_swapping_back_leaves_nothing_of_the_first_swap_counting(inventory):
    there = swapped(inventory)
    back = swapped(inventory, "S-1")
    assert inventory.plan().units[0] == replace(there.before, settings=back.line.settings)
    house = house_of(inventory)
    assert house.units["S-1"].as_left is None
    assert "hall" not in house.signatures
    assert house.plan.visits[-1].soaks == ()


def test_another_module_in_the_same_unit_is_no_longer_a_finding(inventory):
    static = SHEET | {"module.type": "static", "module.firmware": "9.0"}
    inventory.save_reading(
        reading("S-1", NOON + timedelta(days=1), sheet=static, capabilities={"max_areas": 0})
    )
    house = house_of(inventory)
    assert FindingKind.MODULE_SWAPPED in {one.kind for one in house.findings}
    assert [(one.label, one.kind) for one in signs_of(house)] == [("U1", SwapKind.MODULE)]
    made = swapped(inventory, "")
    assert made.kind is SwapKind.MODULE
    house = house_of(inventory)
    assert FindingKind.MODULE_SWAPPED not in {one.kind for one in house.findings}
    assert house.units["S-1"].line.module_type is ModuleType.STATIC
    assert house.units["S-1"].line.areas == ()
    assert house.units["S-1"].as_left is None
    assert outcomes(house, "hall")["label-readable"] is Outcome.PASS
    standings = {change.standing for change in pending_changes(house.units.values())}
    assert Standing.CHANGED_ON_SITE not in standings


def test_what_the_new_module_was_walked_with_stands(inventory):
    changed = NOON - timedelta(hours=1)
    static = SHEET | {"module.type": "static"}
    inventory.save_reading(reading("S-3", changed, sheet=static, capabilities=CAN))
    house = house_of(inventory)
    (unit,) = (one for one in house.units.values() if one.line.label == "U3")
    room = next(room for room in house.plan.rooms if room.key == "loft")
    assert evidence_of(inventory, house, unit, room).since == changed
    made = planned_swap(inventory, house, "U3")
    swap(inventory, made, **WORDS)
    assert load_lap(inventory) == LAP
    assert set(house_of(inventory).signatures) == {"hall", "loft"}


def test_a_reset_unit_loses_no_verdict(inventory):
    bare = {key: value for key, value in SHEET.items() if "setting" not in key}
    left = bare | {
        "setting.hold_time_s": 30,
        "areas.1.kind": "watch",
        "areas.1.outline": "0,0 9,9 9,0",
    }
    inventory.save_as_left("S-1", left, NOON, why="signed")
    found = bare | {"setting.hold_time_s": 5}
    inventory.save_reading(reading("S-1", NOON + timedelta(days=1), sheet=found, capabilities=CAN))
    before = house_of(inventory)
    made = swapped(inventory, "")
    assert made.kind is SwapKind.RESET
    assert house_of(inventory) == before
    (row,) = inventory.journal_of("unit-reset")
    assert row.detail["why"] == WORDS["why"]


def test_a_silent_unit_and_a_stranger_look_like_a_swap(inventory):
    house = replace(
        house_of(inventory), expected=(Expected("U1", "Hall", "S-1", "", Meeting.NOT_HEARD),)
    )
    assert [(one.label, one.serial) for one in signs_of(house)] == [("U1", "N-1")]


@pytest.mark.parametrize(
    ("label", "serial", "said"),
    [
        ("U7", "N-1", "no such label"),
        ("U1", "N-9", "never read"),
        ("U1", "S-3", "stands on U3"),
        ("U2", "N-1", "no unit was ever allotted"),
        ("U1", "", "left with"),
    ],
)
def test_what_can_not_be_swapped_is_said_and_nothing_changes(inventory, label, serial, said):
    rows = len(inventory.journal())
    with pytest.raises(PlanError, match=said):
        planned_swap(inventory, house_of(inventory), label, serial)
    assert len(inventory.journal()) == rows


def test_how_a_new_one_is_fixed_is_said_as_far_as_it_differs():
    pose = Pose(10, 20, 90_000, height_mm=1900)
    assert mount_as_said(pose) is None
    assert mount_as_said(pose, upside_down=False, heading_mdeg=450_000) is None
    assert mount_as_said(pose, upside_down=True) == pose.mirrored()
    assert mount_as_said(pose, heading_mdeg=-90_000) == replace(pose, heading_mdeg=270_000)


def test_a_swap_wants_a_name_and_a_reason(inventory):
    made = planned_swap(inventory, house_of(inventory), "U1", "N-1")
    for words in ({"by": " ", "why": "x"}, {"by": "x", "why": ""}):
        with pytest.raises(PlanError, match="who swaps it, and why"):
            swap(inventory, made, **words)
    assert inventory.plan().units[0].serial == "S-1"


def test_a_swap_planned_on_another_line_is_refused(inventory):
    made = planned_swap(inventory, house_of(inventory), "U1", "N-1")
    inventory.save_line(line(settings={"hold_time_s": 99}), why="meanwhile")
    with pytest.raises(PlanError, match="changed since the swap was planned"):
        swap(inventory, made, **WORDS)
    assert inventory.plan().units[0].serial == "S-1"
    assert inventory.journal_of("swapped") == ()
    assert load_lap(inventory) == LAP


# kill -9


def test_killed_at_any_point_it_is_done_or_not_done(tmp_path):
    with open_inventory(tmp_path / "data", CountingClock()) as opened:
        fill(opened)
        whole = len(opened.journal())
    done = subprocess.run(
        [sys.executable, "-m", "tests.unit.engine.test_swapping", str(tmp_path)],
        cwd=ROOT, capture_output=True, encoding="utf-8", check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    points = int(done.stdout)
    assert points > 10
    seen = set()
    for point in range(1, points + 1):
        with open_inventory(tmp_path / str(point), CountingClock()) as opened:
            rows, line_now = len(opened.journal()) - whole, opened.plan().units[0].serial
            decided = "N-1" in opened.planned_decisions()
            lapsed, walked = bool(load_lapses(opened)), "hall" in load_lap(opened).walked_at
            assert opened.first_broken_row() is None
        assert (rows, line_now, decided, lapsed, walked) in (
            (0, "S-1", False, False, True),
            (3, "N-1", True, True, False),
        )
        seen.add(line_now)
    assert "S-1" in seen


def kill_everywhere(folder) -> int:
    """Swap in copies of an inventory, killed at one point after another; return at how many."""
    point, killed = 0, True
    while killed:
        point += 1
        subprocess.run(["cp", "-r", f"{folder}/data", f"{folder}/{point}"], check=True)
        child = os.fork()
        if child == 0:
            swap_until_killed(folder, point)
        _, status = os.waitpid(child, 0)
        killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
        if not killed and status != 0:
            raise SystemExit(f"point {point}: the child ended with {status}")
    return point - 1


def swap_until_killed(folder, point) -> None:
    with open_inventory(folder / str(point), CountingClock()) as opened:
        made = planned_swap(opened, house_of(opened), "U1", "N-1")
        passed = 0

        def pass_by(*_):
            nonlocal passed
            passed += 1
            if passed == point:
                os.kill(os.getpid(), signal.SIGKILL)

        event.listen(Engine, "before_cursor_execute", pass_by)
        event.listen(Engine, "commit", pass_by)
        swap(opened, made, **WORDS)
        pass_by()
    os._exit(0)


def test_a_lap_without_a_unit_is_kept_as_a_document_that_reads_back():
    without = lap_without(LAP, "S-1", "hall")
    assert msgspec.convert(msgspec.to_builtins(without), LapEvidence) == without


if __name__ == "__main__":
    from pathlib import Path

    sys.stdout.write(f"{kill_everywhere(Path(sys.argv[1]))}\n")

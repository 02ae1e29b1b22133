"""A swap in words: what carries over, lapses and is to do; who may take over; which areas are kept."""

import re
from dataclasses import replace

from fleet.jobs.swap_rows import EARLIER_DECISION, Fate, SwapRow
from fleet.jobs.swap_signs import SwapKind, SwapSign
from fleet.model.geometry import Pose
from fleet.model.meeting import Expected, Meeting
from tests.ui.invented import STRANGER, house_of
from tests.ui.invented_updates import NEWCOMER, swap_of, with_newcomer
from tests.ui.screens import serial_of
from ui.presenters.job_rows import job_groups
from ui.presenters.swap_rows import (
    area_rows,
    areas_note,
    heading_hint,
    likeliest,
    sign_of,
    sign_words,
    successors,
    swap_jobs,
    swap_sections,
)

RAW = re.compile(r"\b(setting|areas|mount|build|module)\.\w|_mm|_mdeg|_percent|_s\b|living-room")
"""How items and rooms are called inside the program."""


def texts(sections):
    return {one.title: [line.text for line in one.lines] for one in sections}


def test_a_swap_is_laid_out_in_four_parts():
    house = with_newcomer()
    plan = swap_of(house, "U02", NEWCOMER.serial)
    said = texts(swap_sections(house, plan))
    assert list(said) == ["Dropped", "Lapses", "To do", "Carries over", "It brings along"]
    none = texts(swap_sections(house, replace(plan, lapsed=())))
    assert none["Lapses"] == ["Nothing: no verdict rested on the old one."]


def test_a_swap_is_said_in_the_windows_own_words():
    house = with_newcomer()
    said = texts(swap_sections(house, swap_of(house, "U02", NEWCOMER.serial)))
    assert said["Carries over"][0] == "U02 stays in Living room: label and place."
    assert any(line.startswith("Hold time ") and " s: " in line for line in said["Carries over"])
    assert any(
        line.startswith("Max distance 7.00 m → 6.00 m: the new one reaches")
        for line in said["Carries over"]
    )
    assert any(line.startswith("Indicator light ") for line in said["Dropped"])
    assert "Living room: “A person walking is noticed”, shown (A. Fitter saw it)." in said["Lapses"]
    assert any(line.startswith("Review and apply, Living room, 2 min: ") for line in said["To do"])
    assert any(line.endswith("a photograph; common practice.") for line in said["To do"])
    lines = [line for lines in said.values() for line in lines]
    assert [line for line in lines if RAW.search(line)] == []


def test_an_area_and_a_build_are_one_line_each():
    house = with_newcomer()
    said = texts(swap_sections(house, swap_of(house, "U02", NEWCOMER.serial)))
    lines = [line for lines in said.values() for line in lines]
    (dropped,) = [line for line in said["Dropped"] if "Armchair" in line]
    assert dropped.startswith("Area Armchair 1.20 × 1.00 m from ")
    assert dropped.endswith(": the new one holds 1 area at most.")
    assert len([line for line in lines if "Sofa" in line]) == 1
    assert [line for line in lines if line.startswith("Build ")] == [
        "Build version 2.1.3: no build is approved for its hardware and module."
    ]


def test_what_a_reset_unit_says_now_is_said_with_its_unit():
    house = house_of()
    plan = swap_of(house, "U03", serial_of(house, "U03"), kind=SwapKind.RESET)
    said = texts(swap_sections(house, plan))
    assert "Hold time 30 s: it says 120 s now, to be written back." in said["Carries over"]
    assert any("it says 120 now: to be written back" in row.said for row in plan.rows)


def test_a_decision_of_an_earlier_place_is_said_with_its_item():
    house = with_newcomer()
    plan = swap_of(house, "U02", NEWCOMER.serial)
    row = SwapRow(
        f"{EARLIER_DECISION}setting.hold_time_s", 45, None, Fate.DROPPED, "it stays there"
    )
    said = texts(swap_sections(house, replace(plan, rows=(row,))))
    assert said["Dropped"] == ["Earlier decision on Hold time 45 s: it stays there."]


def test_a_reset_says_what_to_do_in_the_window():
    house = house_of()
    plan = swap_of(house, "U03", serial_of(house, "U03"), kind=SwapKind.RESET)
    said = texts(swap_sections(house, plan))
    assert said["To do"][-1].startswith("Write back what it was left with")
    assert not any("walkdown" in line for lines in said.values() for line in lines)


def test_areas_are_offered_only_where_the_new_one_holds_fewer():
    house = with_newcomer()
    plan = swap_of(house, "U02", NEWCOMER.serial)
    rows = area_rows(plan)
    assert [row.text for row in rows] == ["Sofa: kept", "Armchair: left out"]
    assert areas_note(plan) == "The new one holds 1 of 2 areas. Tick those to keep first:"
    turned = swap_of(house, "U02", NEWCOMER.serial, chosen_areas=[rows[1].key])
    assert [row.kept for row in area_rows(turned)] == [False, True]
    itself = swap_of(house, "U02", serial_of(house, "U02"), kind=SwapKind.MODULE)
    assert (area_rows(itself), areas_note(itself)) == ((), "")


def test_who_seems_to_have_taken_over_is_chosen_first():
    house = house_of()
    serial = serial_of(house, "U03")
    among = successors(house, serial)
    reset = SwapSign("U03", SwapKind.RESET, serial, "it holds no areas")
    assert among[likeliest(among, reset)].kind is SwapKind.RESET
    assert likeliest(among, None) == 0
    assert likeliest(among, replace(reset, serial="nobody")) == 0


def test_whoever_has_no_place_may_take_over_and_the_unit_itself():
    house = house_of()
    serial = serial_of(house, "U03")
    rows = successors(house, serial)
    assert [(row.serial, row.kind) for row in rows] == [
        (STRANGER.serial, None),
        (serial, SwapKind.MODULE),
        (serial, SwapKind.RESET),
    ]
    assert rows[2].text == f"{serial} itself, which was reset"
    assert successors(replace(house, unplaced=()), "") == ()


def silent(house, label):
    """The same house in which a unit isn't heard, and the stranger is."""
    line = next(unit.line for unit in house.units.values() if unit.line.label == label)
    gone = Expected(label, line.room, line.serial, "", Meeting.GONE, "Its reports have stopped.")
    return replace(house, expected=(gone,))


def test_a_silent_unit_and_a_stranger_of_its_kind_look_like_a_swap():
    house = silent(house_of(), "U03")
    (job,) = swap_jobs(house)
    assert (job.unit, job.room, job.action) == ("U03", "living-room", "Swap …")
    assert job_groups(house)[3].jobs[0] == job
    assert swap_jobs(house, "garage") == ()
    assert sign_of(house, "U03").serial == STRANGER.serial
    assert sign_words(sign_of(house, "U03")).startswith("It looks like this: unit replaced. ")


def test_a_house_in_which_everybody_is_heard_shows_no_swap():
    assert swap_jobs(house_of()) == ()
    assert sign_words(sign_of(house_of(), "U01")) == ""


def test_a_heading_says_how_it_is_read():
    assert heading_hint(Pose(0, 0, 225_000)) == (
        "225.0° is planned; on the plan 0° is right, 90° is up."
    )

from dataclasses import replace

import pytest

from fleet.engine.applying import StepResult
from fleet.model.findings import Finding, FindingKind, ItemResult, Outcome, RoomResult
from fleet.model.journal import StepState
from fleet.model.snapshot import ItemState, LinkState, LiveUnit, OperationView
from tests.ui.fake_visit import NO_SITE
from tests.ui.invented import DOUBT, PLAN, STRANGER, house_of, snapshot_of
from ui.presenters.cautions import VITAL_SIGN, placing_cautions, record_cautions
from ui.presenters.checklist_rows import checklist_rows, signed_words, what_is_missing
from ui.presenters.doubt_rows import doubt_words
from ui.presenters.foot_line import foot_line, head_note, operation_words
from ui.presenters.house_rows import (
    age_note,
    age_notes,
    heard_hint,
    heard_rows,
    house_rows,
    room_note,
    room_state,
    shown_of_house,
    unit_state,
)
from ui.presenters.job_rows import job_groups, job_title, job_words
from ui.presenters.lap_words import before_room, lap_done
from ui.presenters.places import PlaceKind, find_place, places
from ui.presenters.plan_words import area_m2, room_line, unit_line
from ui.presenters.review_rows import outcome_rows, outcome_words, review_rows

HOUSE = house_of()


def unit(label, house=HOUSE):
    return next(u for u in house.units.values() if u.line.label == label)


def result_of(*outcomes, evidence="auto", signed_by=""):
    items = tuple(
        ItemResult(f"i{n}", f"Item {n}.", evidence, outcome, "why")
        for n, outcome in enumerate(outcomes)
    )
    return RoomResult("den", items, signed_by)


def test_floors_hold_rooms_hold_units():
    ground, first = house_rows(HOUSE)
    assert (ground.text, first.text) == ("Ground floor", "First floor")
    living = next(row for row in ground.rows if row.key == "living-room")
    assert living.note == f"{HOUSE.rooms['living-room'].shown} of 16 shown"
    assert [row.text for row in living.rows] == ["U02 tracking", "U03 static"]
    assert living.rows[0].note == "mirrored mount"
    kitchen = next(row for row in ground.rows if row.key == "kitchen-diner")
    assert kitchen.rows[1].note == "build behind +1"


def test_unit_states_rest_on_findings_readings_and_changes():
    assert unit_state(HOUSE, unit("U02")) is ItemState.WRONG
    assert unit_state(HOUSE, unit("U03")) is ItemState.LOOK
    assert unit_state(HOUSE, unit("U01")) is ItemState.SHOWN
    assert unit_state(HOUSE, replace(unit("U01"), found=None)) is ItemState.NOT_TESTED
    pending = replace(HOUSE, findings=())
    assert unit_state(pending, unit("U03")) is ItemState.TO_DO


def test_only_a_room_with_every_item_shown_counts_as_shown():
    assert room_state(result_of(Outcome.PASS, Outcome.PASS)) is ItemState.SHOWN
    assert room_state(result_of(Outcome.PASS, Outcome.NOT_TESTED)) is ItemState.TO_DO
    assert room_state(result_of(Outcome.NOT_TESTED)) is ItemState.NOT_TESTED
    assert room_state(result_of(Outcome.PASS, Outcome.INCONCLUSIVE)) is ItemState.LOOK
    assert room_state(result_of(Outcome.PASS, Outcome.FAIL)) is ItemState.WRONG
    assert room_state(None) is ItemState.NOT_TESTED
    assert room_state(None, wrong=True) is ItemState.WRONG


def test_room_note_says_shown_and_signed():
    assert room_note(None) == "no checklist"
    assert room_note(result_of(Outcome.PASS, signed_by="A, client")) == "1 of 1 shown · signed"


def test_house_says_how_much_is_shown():
    assert shown_of_house(HOUSE).endswith("of 157 shown")
    assert shown_of_house(NO_SITE) == ""


def test_age_of_last_report():
    assert age_note(None).text == "never heard"
    assert age_note(LiveUnit("s", LinkState.LIVE, 0.1)).text == "0.1 s"
    quiet = age_note(LiveUnit("s", LinkState.QUIET, 12))
    assert (quiet.text, quiet.old) == ("quiet 12 s", True)
    assert age_notes({}, ("s",))["s"].old


def test_heard_and_not_placed():
    assert heard_rows(HOUSE)[0].text == "AP99-QQ111 · static · −58 dBm"
    mute = replace(STRANGER, sheet={}, signal_dbm=None)
    assert heard_rows(house_of(unplaced=(mute,)))[0].text == "AP99-QQ111 · module not said"
    assert "Drag" in heard_hint(HOUSE)
    assert "Scan" in heard_hint(NO_SITE)
    assert "has its place" in heard_hint(house_of(unplaced=()))


def test_four_groups_of_jobs():
    groups = job_groups(HOUSE)
    assert [g.title for g in groups] == ["Builds", "Settings and areas", "Sign-off", "Snags"]
    assert [g.count for g in groups[:2]] == ["2 jobs", "2 jobs"]
    assert all(job.room == "office" for g in job_groups(HOUSE, "office") for job in g.jobs)
    assert job_groups(HOUSE, "office")[0].count == "none"


def test_an_empty_list_says_what_to_do_next():
    assert "start a site" in job_groups(NO_SITE)[0].when_empty
    unread = {s: replace(u, found=None) for s, u in HOUSE.units.items()}
    groups = job_groups(replace(HOUSE, units=unread, jobs=()))
    assert "Scan" in groups[0].when_empty
    assert "issue the record" in groups[2].when_empty
    assert "approved" in job_groups(replace(HOUSE, jobs=()))[0].when_empty


def test_jobs_speak_of_items_in_words():
    titles = [job_title(job) for job in job_groups(HOUSE)[1].jobs]
    assert titles[0] == "U03 hold time"
    assert job_words(HOUSE.jobs[0]).startswith("U05 build behind, look: ")


def test_review_ticks_only_what_the_plan_alone_decided():
    changed, to_apply = review_rows(HOUSE)
    assert (changed.waits, changed.ticked) == (True, False)
    assert changed.cells[:5] == ("U03", "Hold time", "30 s", "120 s", "30 s")
    assert (to_apply.waits, to_apply.ticked) == (False, True)
    assert "\n" in to_apply.cells[2]
    decided = review_rows(HOUSE, unit="U03", decided=[changed.key])
    assert [(row.waits, row.ticked) for row in decided] == [(False, True)]


def test_outcomes_are_by_read_back():
    results = (
        StepResult("U03", "settings", StepState.DONE, "read back: 30 s"),
        StepResult("U04", "areas", StepState.IN_DOUBT, "can't be read"),
    )
    assert [row.state for row in outcome_rows(results)] == [ItemState.SHOWN, ItemState.LOOK]
    assert outcome_words(results, 2) == "1 of 2 writes stand as asked, by read-back."
    assert outcome_words((), 1) == "Nothing was written; 1 change still to do."


def test_not_tested_never_looks_like_a_pass():
    for row in checklist_rows(HOUSE.rooms["bedroom-1"]):
        assert (row.word == "shown") == (row.state is ItemState.SHOWN)
        assert not (row.word == "not tested" and row.state is ItemState.SHOWN)


def test_signature_is_refused_in_words():
    result = result_of(Outcome.PASS, Outcome.FAIL, Outcome.NOT_TESTED)
    assert "“Item 1” and 1 more" in what_is_missing(result, "A", "client", {})
    assert "“Item 2”." in what_is_missing(result, "A", "client", {"i1": "because"})
    reasons = {"i1": "because", "i2": "because"}
    assert "name" in what_is_missing(result, " ", "client", reasons)
    assert "role" in what_is_missing(result, "A", "", reasons)
    assert what_is_missing(result, "A", "client", reasons) == ""


def test_ticks_are_for_what_a_person_does():
    ticks = checklist_rows(result_of(Outcome.NOT_TESTED, Outcome.PASS, evidence="tick"))
    assert [row.can_tick for row in ticks] == [True, False]
    (signature,) = checklist_rows(result_of(Outcome.NOT_TESTED, evidence="signature"))
    assert not signature.can_except
    assert not signature.can_tick
    assert signed_words(result_of(signed_by="A, client")) == "Accepted by A, client."
    assert signed_words(result_of()) == "Nobody has accepted it yet."


def test_foot_says_what_is_running():
    line = foot_line(snapshot_of(HOUSE))
    assert (line.heard, line.rate) == ("heard 14 of 14", "136 reports/s")
    assert (line.operation, line.done_percent, line.stop_key) == ("Apply: U04 areas", 60, 7)
    quiet = foot_line(snapshot_of(HOUSE, operations=(), interface=""))
    assert (quiet.interface, quiet.operation, quiet.stop_key) == ("no network interface", "", None)
    unknown = foot_line(snapshot_of(HOUSE, operations=(OperationView(1, "Scan", None),)))
    assert (unknown.done_percent, unknown.stop_key) == (None, None)
    assert operation_words(OperationView(1, "Scan", None), 3) == "Scan (+2)"


def test_demo_and_fast_clock_are_always_said():
    snapshot = snapshot_of(HOUSE)
    assert head_note(snapshot, "") == "demo, invented house · clock × 20"
    assert head_note(snapshot, "demo · clock × 20") == "demo · clock × 20"
    assert "read only" in head_note(snapshot_of(replace(HOUSE, read_only=True)), "")
    assert head_note(snapshot_of(NO_SITE, speed=1.0), "") == ""


def test_go_to_finds_rooms_units_and_jobs():
    known = places(HOUSE)
    assert find_place(known, "office").kind is PlaceKind.ROOM
    assert find_place(known, "U07").key == unit("U07").line.serial
    assert find_place(known, "hold time").kind is PlaceKind.JOB
    assert find_place(known, "  ") is None
    assert find_place(known, "attic") is None


def test_cautions_where_they_apply():
    assert VITAL_SIGN in placing_cautions("vital-sign")
    assert VITAL_SIGN not in placing_cautions("static")
    assert "30 days" in record_cautions()[-1]


def test_plan_says_floor_area_and_age():
    room = next(r for r in PLAN.rooms if r.key == "living-room")
    assert area_m2(room.outline_mm) == pytest.approx(26.4)
    assert room_line(HOUSE, room, "x") == "Ground floor · 26.4 m² · x"
    assert unit_line(unit("U02")).endswith("read 25 Nov 09:30 UTC")
    bare = replace(unit("U02"), found=None, line=replace(unit("U02").line, serial=""))
    assert unit_line(bare).endswith("no serial yet · never read")


def test_lap_says_what_was_not_walked():
    hall = next(r for r in PLAN.rooms if len(r.doors) > 1)
    assert "Shut the doors" in before_room(hall)
    assert "Shut the door," in before_room(replace(hall, doors=hall.doors[:1]))
    assert lap_done(3, 4).startswith("3 rooms walked. 1 room not walked: not tested.")
    assert "not walked" not in lap_done(4, 4)


def test_doubt_says_before_and_after():
    assert "Hold time: 120 s → 30 s" in doubt_words(DOUBT)


def test_a_unit_with_a_lesser_finding_asks_for_a_look():
    weak = Finding("garage", "U07", FindingKind.WEAK_LINK, "weak")
    assert unit_state(replace(HOUSE, findings=(weak,)), unit("U07")) is ItemState.LOOK

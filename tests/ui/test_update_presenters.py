"""Builds, campaigns, kept sheets, origins, swaps and partial writes in words."""

from dataclasses import replace
from datetime import date

import pytest

from fleet.engine.applying import StepResult
from fleet.engine.campaign_plan import CampaignPlan
from fleet.engine.rehearsing import Rehearsal
from fleet.engine.settling import Remedy
from fleet.jobs.gates import proven
from fleet.jobs.install_rules import RefusalKind
from fleet.jobs.restoring import restore_plan
from fleet.model.firmware import CampaignState, CampaignTerms, UpdateState, Wave
from fleet.model.journal import StepState
from fleet.model.snapshot import ItemState
from tests.ui.invented import AT, house_of
from tests.ui.invented_updates import (
    IMAGE,
    ORIGINS,
    PARTLY_ITEMS,
    SHELF,
    drifting,
    kept_of,
    partly_done,
    under_way,
    updates_of,
)
from tests.ui.screens import serial_of
from ui.presenters.campaign_plan_rows import (
    downgrade_note,
    downgrade_said,
    image_sections,
    image_text,
    left_out_rows,
    plan_note,
    unit_choices,
    wave_sections,
)
from ui.presenters.campaign_rows import (
    campaign_note,
    campaign_rows,
    campaign_title,
    ended_ppm,
    found_open_words,
    lost_units,
    needs_reason,
    offers,
    proof_words,
    row_words,
)
from ui.presenters.drift_rows import build_count, build_jobs, drift_sentences, serials_of
from ui.presenters.job_rows import job_groups
from ui.presenters.origin_rows import origin_lines
from ui.presenters.partly_rows import partly_jobs, partly_note, partly_rows
from ui.presenters.restore_rows import restore_sections, sheet_rows
from ui.presenters.review_rows import outcome_sections, rehearsal_sections, rehearsal_words
from ui.presenters.said_parts import section, sections_words
from ui.presenters.words import sentence, unit_hint

TODAY = date(2026, 11, 25)


def texts(sections):
    return {one.title: [line.text for line in one.lines] for one in sections}


def test_drift_is_a_line_for_each_kind_the_worst_first():
    jobs = [job for job in build_jobs(drifting()) if job.key.startswith("drift:")]
    assert [job.title for job in jobs] == [
        "U09 wrong hardware",
        "U12 support ended",
        "2 units behind by 2",
        "U14 unknown build",
        "U07 ahead",
    ]
    assert jobs[2].action == "Update …"
    assert jobs[3].action == "Look"
    assert "never read" in jobs[3].reason
    assert "U03, U05: two builds lie between; the oldest read 25 Nov 2026" in jobs[2].reason


def test_those_farther_behind_come_first_and_many_labels_are_cut():
    house = drifting()
    lines = tuple(
        replace(line, word=f"behind by {2 if number else 12}", read_at=None if number == 3 else AT)
        for number, line in enumerate(house.drift)
    )
    jobs = [job for job in build_jobs(replace(house, drift=lines)) if "behind by" in job.title]
    assert [job.title for job in jobs] == ["U01 behind by 12", "13 units behind by 2"]
    assert jobs[1].reason.startswith("U02, U03, U04, U05 and 9 more: ")
    assert jobs[1].reason.endswith("the oldest never read")


def test_drift_stands_for_the_finding_that_says_the_same():
    house = drifting()
    assert not [job for job in build_jobs(house) if job.key.endswith("U05:build-behind")]
    assert [job for job in build_jobs(house_of()) if job.key.endswith("U05:build-behind")]


def test_drift_of_a_room_leaves_the_others_out():
    house = drifting()
    assert [job.title for job in build_jobs(house, "garage")] == ["U07 ahead"]
    assert build_count(house) == "6 of 14 drift"
    assert build_count(house, "garage") == "1 of 1 drifts"
    assert build_count(house_of()) == ""
    assert job_groups(house)[0].count == "6 of 14 drift"


def test_a_drift_line_knows_its_units():
    house = drifting()
    job = next(job for job in build_jobs(house) if "behind by 2" in job.title)
    assert serials_of(house, job) == (serial_of(house, "U03"), serial_of(house, "U05"))
    assert drift_sentences(house, job)[1].startswith("U05 runs 1.8.0, approved 2.1.3: two builds")


def test_a_reason_that_names_the_builds_is_not_said_twice():
    house = drifting()
    said = "runs 1.8.0, behind the approved 2.1.3: 2 builds"
    line = next(line for line in house.drift if line.label == "U05")
    (job,) = [
        job
        for job in build_jobs(replace(house, drift=(replace(line, reason=said),)))
        if job.key.startswith("drift:")
    ]
    assert job.reason == f"{said}; read 25 Nov 2026 09:30 UTC"


def test_nothing_is_offered_to_update_while_a_campaign_is_open():
    jobs = build_jobs(under_way())
    assert jobs[0].title == "Campaign 3: 2.1.3"
    assert jobs[0].action == "Open"
    assert {job.action for job in jobs[1:]} == {"Look"}


@pytest.mark.parametrize("state", [CampaignState.DONE, CampaignState.STOPPED])
def test_a_campaign_that_ended_is_no_job(state):
    assert build_jobs(under_way(state=state))[0].title == "U09 wrong hardware"


def test_the_rows_of_a_campaign_go_wave_by_wave():
    rows = campaign_rows(under_way())
    assert [row.head for row in rows if row.wave] == [wave.value.capitalize() for wave in Wave]
    assert (rows[0].word, rows[0].state) == ("gate passed", ItemState.SHOWN)
    assert "settings and areas read back as found" in rows[0].said
    assert "0 of 1 failed" in rows[0].said
    assert rows[1].room == "on the bench"
    rest = [row for row in rows if row.wave][-1]
    assert rest.word == "waits for the gate before it"
    assert campaign_rows(house_of()) == ()


def test_a_unit_that_is_away_has_a_bar_and_the_time_left():
    row = next(row for row in campaign_rows(under_way()) if row.share is not None)
    assert row.share == pytest.approx(0.31)
    assert row.left == "2 min left"
    assert row_words(row).startswith(f"{row.head}, {row.room}, running, 31 %, 2 min left")


def test_each_state_of_a_unit_has_its_glyph_and_word():
    house = under_way()
    first = house.campaign.updates[0]
    seen = {}
    for state in UpdateState:
        updates = (replace(first, state=state), *house.campaign.updates[1:])
        campaign = replace(house.campaign, updates=updates)
        row = campaign_rows(replace(house, campaign=campaign))[1]
        seen[row.word] = row.state
    assert list(seen) == [state.value for state in UpdateState]
    assert seen["not recovered"] is ItemState.WRONG
    assert seen["in doubt"] is ItemState.LOOK


def test_a_wave_with_a_failure_has_its_gate_shut_until_it_is_accepted():
    house = under_way()
    failed = replace(house.campaign.updates[0], state=UpdateState.OLD_BUILD)
    for accepted, word in ((False, "gate shut"), (True, "gate shut")):
        updates = (replace(failed, accepted=accepted), *house.campaign.updates[1:])
        rows = campaign_rows(replace(house, campaign=replace(house.campaign, updates=updates)))
        assert rows[0].word == word  # accepted, but no unit of the wave runs it: nothing is proven
    assert rows[1].word == "runs its old build, accepted"


def test_the_note_says_how_far_and_how_long():
    house = under_way()
    assert campaign_title(house) == "Campaign 3: 2.1.3"
    assert campaign_note(house).startswith("running · 7 of 14 units ended · about ")
    assert "left" not in campaign_note(under_way(state=CampaignState.DONE))
    assert (campaign_title(house_of()), campaign_note(house_of())) == (
        "Campaign",
        "No campaign yet.",
    )
    meant = replace(house.campaign.terms, allow_downgrade=True)
    back = replace(house, campaign=replace(house.campaign, terms=meant))
    assert "· an older build is meant ·" in campaign_note(back)
    assert ended_ppm(house.campaign) == 500_000
    assert ended_ppm(None) == 0


def test_what_is_proven_is_said_with_why_it_stands():
    said = proof_words(under_way(state=CampaignState.AT_GATE))
    assert said.startswith("A unit isn't recovered. 2 of 7 failed: with 95 % confidence")
    assert proof_words(house_of()) == ""


def test_what_is_proven_is_said_once():
    house = under_way(state=CampaignState.DONE)
    said = proven(house.campaign.updates)
    ended = replace(house, campaign=replace(house.campaign, said=said))
    assert proof_words(ended) == said


def test_a_unit_that_is_not_recovered_is_shouted_with_what_to_do():
    (shout,) = lost_units(under_way())
    assert "NOT RECOVERED. No report for 5 min" in shout
    assert "Switch its power off and on" in shout
    assert shout.endswith("fit another unit.")
    assert lost_units(house_of()) == ()


def test_an_open_campaign_is_offered_with_who_is_read_first():
    said = found_open_words(under_way().campaign)
    assert "begun by A. Fitter, 7 of 14 units ended." in said
    assert "will be read first" in said
    calm = replace(under_way().campaign, updates=())
    assert "read first" not in found_open_words(calm)


def test_going_on_after_failures_needs_a_reason():
    campaign = under_way().campaign
    assert needs_reason(campaign)
    accepted = tuple(replace(update, accepted=True) for update in campaign.updates)
    assert not needs_reason(replace(campaign, updates=accepted))


def test_what_can_be_pressed_follows_the_state():
    running = under_way().campaign
    assert offers(None) == (False, False, False, True)
    assert offers(running) == (True, False, True, False)
    assert offers(running, found_open=True) == (False, True, True, False)
    assert offers(replace(running, state=CampaignState.PAUSED)) == (False, True, True, False)
    assert offers(replace(running, state=CampaignState.DONE)) == (False, False, False, True)


def test_an_image_is_laid_open_before_anything_is_sent():
    said = texts(image_sections(SHELF[0], TODAY, at_once=4))
    assert list(said) == ["Signature", "Image", "Support", "Notes of its maker", "What it disrupts"]
    assert "9b02 51c7" in said["Signature"][1]
    assert "1,024 KiB" in said["Image"][0]
    assert said["Support"] == ["2.1.3 is mended until 2029-06-30."]
    assert "up to 4 units" in said["What it disrupts"][0]
    assert image_text(SHELF[0]).endswith("signed, trusted")


def test_an_image_that_is_not_trusted_says_so_and_its_support_end_looks_old():
    sections = image_sections(SHELF[1], TODAY, at_once=1)
    assert sections[0].lines[0].state is ItemState.WRONG
    assert sections[0].lines[1].text == "No signature fits."
    assert sections[2].lines[0].state is ItemState.LOOK
    assert sections[3].lines[0].text == "None."
    assert image_text(SHELF[1]).endswith("NOT TRUSTED")
    silent = replace(SHELF[1], image=replace(IMAGE, support_ends=None, module_firmwares=()))
    sections = image_sections(silent, TODAY, at_once=1)
    assert sections[2].lines[0].state is ItemState.NOT_TESTED
    assert "that nobody names" in sections[1].lines[1].text


def test_units_are_ticked_as_they_were_asked_for():
    house = house_of()
    assert all(choice.ticked for choice in unit_choices(house))
    only = unit_choices(house, [serial_of(house, "U05")])
    assert [choice.label for choice in only if choice.ticked] == ["U05"]
    assert next(c.cells for c in only if c.label == "U05") == ("U05", "Kitchen-diner", "1.8.0")


def test_waves_are_said_with_their_rule_and_their_gate():
    house = house_of()
    plan = CampaignPlan(IMAGE, CampaignTerms(), updates_of(house), {})
    said = texts(wave_sections(house, plan))
    assert next(iter(said)) == "Bench: 1 unit"
    assert said["Bench: 1 unit"][0] == "U07 (on the bench)"
    assert "no failure in 1 still allows 95.0 %" in said["Bench: 1 unit"][2]
    assert plan_note(plan).startswith("14 units to 2.1.3, 8 at once, each watched for 2 min")
    empty = CampaignPlan(IMAGE, CampaignTerms(), (), {})
    assert plan_note(empty) == "No unit takes part: there is nothing to start."


def test_only_an_unknown_match_may_be_vouched_for():
    house = house_of()
    why = {"U05": "nobody has vouched for it", "U01": "it runs it already", "U99": "never read"}
    kinds = {"U05": RefusalKind.UNKNOWN, "U01": RefusalKind.SAME_BUILD}
    rows = left_out_rows(house, CampaignPlan(IMAGE, CampaignTerms(), (), why, kinds))
    assert [row.may_vouch for row in rows] == [True, False, False]
    assert not any(row.may_go_back for row in rows)
    assert rows[0].key == "H4 static 3.1"
    assert rows[2].key == ""
    unsaid = {"U01": RefusalKind.UNSAID}
    plan = CampaignPlan(IMAGE, CampaignTerms(), (), why, unsaid)
    assert [row.may_vouch for row in left_out_rows(house, plan)] == [False, True, False]


@pytest.mark.parametrize("kind", [RefusalKind.SEQUENCE, RefusalKind.ORDER_UNKNOWN])
def test_an_older_build_is_a_persons_word_and_no_match(kind):
    house = house_of()
    plan = CampaignPlan(IMAGE, CampaignTerms(), (), {"U07": "its sequence is lower"}, {"U07": kind})
    (row,) = left_out_rows(house, plan)
    assert (row.may_go_back, row.may_vouch) == (True, False)
    assert downgrade_said(house, plan).startswith(
        "Back to 2.1.3: U07 (runs 2.1.3). With an older build"
    )


def test_a_plan_that_may_go_back_says_so_with_the_reason():
    meant = CampaignTerms(allow_downgrade=True, downgrade_why="2.2.0 loses still people")
    assert downgrade_note(CampaignPlan(IMAGE, CampaignTerms(), (), {})) == ""
    said = downgrade_note(CampaignPlan(IMAGE, meant, (), {}))
    assert said.endswith("older build here. Reason: 2.2.0 loses still people.")
    silent = CampaignTerms(allow_downgrade=True)
    assert "Reason: None is written down." in downgrade_note(CampaignPlan(IMAGE, silent, (), {}))


def test_kept_sheets_come_newest_first_with_date_and_why():
    house = house_of()
    rows = sheet_rows(kept_of(house, serial_of(house, "U03")))
    assert [row.key for row in rows] == ["sheet-17", "sheet-9", "sheet-3"]
    assert rows[1].text == "03 Sep 2026 09:30 UTC · as left"
    assert rows[1].below.startswith("signed by the client · ")


def test_restoring_says_what_would_be_written_and_what_stays():
    house = house_of()
    serial = serial_of(house, "U03")
    kept = kept_of(house, serial)[0]
    changes, impossible = restore_plan(house.units[serial].found, kept.sheet, label="U03")
    said = texts(restore_sections(changes, impossible))
    assert "Hold time: 120 s now, 15 s afterwards." in said["Would be written"]
    assert any(
        line.startswith("Build version: 1.7.0 was kept") for line in said["Can’t be brought back"]
    )
    nothing = texts(restore_sections((), ()))
    assert nothing["Would be written"] == ["Nothing that can be written differs."]


def test_an_origin_says_its_level_and_what_it_stands_in_for():
    lines = {line.key: line for line in origin_lines(ORIGINS)}
    hold = lines["setting.hold_time_s"]
    assert hold.cells[:3] == ("Hold time", "30 s", "unit")
    assert hold.cells[5].splitlines() == [
        "45 s from room living-room, static modules",
        "60 s from room kind living",
    ]
    assert "it stands in for 45 s" in hold.said
    assert lines["setting.sensitivity_percent"].cells[1] == "taken out of the plan"
    assert lines["build.version"].cells[4:] == ("no reason written down", "nothing")


def test_a_write_that_is_partly_done_says_what_stands():
    house = partly_done()
    (row,) = partly_rows(house)
    assert [line.state for line in row.lines] == [
        ItemState.SHOWN,
        ItemState.TO_DO,
        ItemState.LOOK,
    ]
    assert (
        row.lines[2].text == "Max distance stands as neither: 4.80 m (asked 5.00 m, before 4.50 m)."
    )
    assert row.effects[Remedy.RESUME] == "writes 2 items as asked"
    assert row.effects[Remedy.ROLL_BACK] == "writes 2 items back to what stood before"
    assert partly_rows(house, "U01") == ()
    unread = replace(house, units={})
    assert partly_rows(unread)[0].lines[0].text == "only some of it stands"


def test_a_write_that_is_partly_done_is_a_job_and_a_note():
    house = partly_done()
    assert partly_note(house) == "1 write is partly done (U03): some of it stands."
    assert partly_note(house, "U01") == ""
    twice = replace(house, unfinished=house.unfinished * 2)
    assert partly_note(twice).startswith("2 writes are partly done (U03)")
    (job,) = partly_jobs(house)
    assert (job.unit, job.room, job.action) == ("U03", "living-room", "Put right …")
    assert partly_jobs(house, "garage") == ()
    assert job_groups(house)[1].jobs[0] == job


def test_outcomes_go_item_by_item_where_only_some_stands():
    results = (
        StepResult("U03", "settings", StepState.PARTLY, "only some of it stands", PARTLY_ITEMS),
        StepResult("U04", "areas", StepState.DONE, "read back"),
    )
    first, second = outcome_sections(results)
    assert len(first.lines) == 4
    assert first.lines[2].text == "Sensitivity, not done: asked 66 %, found 55 %."
    assert first.lines[2].state is ItemState.WRONG
    assert len(second.lines) == 1


def test_a_dry_run_says_what_would_be_sent():
    could = Rehearsal("U03", "settings", True, "would be written", ("hold: 30 → 120",))
    not_so = Rehearsal("U04", "areas", False, "it can't be reached")
    first, second = rehearsal_sections((could, not_so))
    assert first.title == "U03 settings: could be written"
    assert first.lines[1].text == "would send hold: 30 → 120"
    assert second.title == "U04 areas: could NOT be written"
    assert second.lines[0].state is ItemState.WRONG
    assert (
        rehearsal_words((could, not_so)) == "Dry run: 1 of 2 writes could go out. Nothing was sent."
    )


def test_sections_can_be_read_out():
    said = sections_words(
        [section("Lapses", ["a.", "b."], None, ""), section("To do", [], None, "None.")]
    )
    assert said == "Lapses: a. b. To do: None."


def test_small_words():
    assert sentence("it is lost.") == "It is lost."
    assert sentence("") == ""
    assert unit_hint("setting.hold_time_s") == " in s"
    assert unit_hint("setting.max_distance_mm") == " in mm"
    assert unit_hint("areas.1.kind") == ""

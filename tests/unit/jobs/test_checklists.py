from dataclasses import replace

import pytest

from fleet.jobs.checklists import Checklist, ChecklistItem, RoomEvidence, checklist_from, fill
from fleet.model.errors import PlanError
from fleet.model.findings import Finding, FindingKind, Outcome
from tests.unit.jobs.invented import PLAN, ROOM, unit

AUTO = (
    "units-answer",
    "right-unit",
    "mount",
    "build",
    "settings",
    "areas",
    "link",
    "bleed-through",
    "ghosts",
    "walk",
    "still",
    "soak",
)
WALKED = {"walked_at": "2026-11-25T10:00:00.000Z"}


def answers(evidence):
    items = tuple(ChecklistItem(key, key, "auto") for key in AUTO)
    result = fill(Checklist("living", items), evidence)
    return {item.key: item.outcome for item in result.items}


def evidence(*units, findings=(), **more):
    return RoomEvidence(PLAN, ROOM, units, findings, **more)


def finding(kind, **figures):
    return Finding("den", "U01", kind, "because", figures)


def test_a_room_as_planned_and_walked_shows_all_but_what_has_no_trial():
    soaked = {"U01": (Outcome.PASS, "at most 6.0 a day")}
    outcomes = answers(evidence(unit(), soaks=soaked, **WALKED))
    assert {key for key, outcome in outcomes.items() if outcome is Outcome.PASS} == set(AUTO) - {
        "walk",
        "still",
    }
    assert outcomes["walk"] is outcomes["still"] is Outcome.NOT_TESTED


def test_a_room_that_was_neither_read_nor_walked_shows_nothing():
    outcomes = answers(evidence(replace(unit(), found=None)))
    assert set(outcomes.values()) == {Outcome.NOT_TESTED}


def test_a_room_without_units_shows_nothing_either():
    outcomes = answers(evidence())
    for key in ("units-answer", "settings", "areas", "link", "build", "soak"):
        assert outcomes[key] is Outcome.NOT_TESTED


@pytest.mark.parametrize(
    ("kind", "item"),
    [
        (FindingKind.LABELS_CROSSED, "right-unit"),
        (FindingKind.MIRRORED_MOUNT, "mount"),
        (FindingKind.BUILD_BEHIND, "build"),
        (FindingKind.MATCH_UNKNOWN, "build"),
        (FindingKind.SETTING_CHANGED, "settings"),
        (FindingKind.AREA_PAST_WALL, "areas"),
        (FindingKind.WEAK_LINK, "link"),
        (FindingKind.BLEED_THROUGH, "bleed-through"),
        (FindingKind.GHOST, "ghosts"),
    ],
)
def test_a_finding_fails_the_item_that_it_bears_on(kind, item):
    outcomes = answers(evidence(unit(), findings=(finding(kind),), **WALKED))
    assert outcomes[item] is Outcome.FAIL
    assert sum(outcome is Outcome.FAIL for outcome in outcomes.values()) == 1


def test_the_partner_of_a_crossed_label_fails_too():
    crossed = Finding("loft", "U09", FindingKind.LABELS_CROSSED, "because", {"crossed_with": "U01"})
    assert answers(evidence(unit(), findings=(crossed,), **WALKED))["right-unit"] is Outcome.FAIL


def test_a_unit_that_the_lap_did_not_place_leaves_the_item_open():
    outcomes = answers(evidence(unit(), unseen={"U01": "saw nobody"}, **WALKED))
    assert outcomes["right-unit"] is Outcome.INCONCLUSIVE


def test_a_setting_still_to_apply_fails():
    moved = unit({"setting.hold_time_s": 45}, {"setting.hold_time_s": 45})
    assert answers(evidence(moved))["settings"] is Outcome.FAIL


def test_a_build_that_nobody_approved_is_not_tested():
    unknown = unit({"build.version": "9"}, {"build.version": "9"})
    assert answers(evidence(unknown))["build"] is Outcome.NOT_TESTED


@pytest.mark.parametrize("worst", [Outcome.FAIL, Outcome.INCONCLUSIVE])
def test_the_worst_soak_of_a_room_counts(worst):
    assert answers(evidence(unit(), soaks={"U01": (worst, "x")}))["soak"] is worst


def test_ticks_photos_and_signatures_are_a_persons():
    items = (
        ChecklistItem("told", "told", "tick"),
        ChecklistItem("photo", "photo", "photo"),
        ChecklistItem("acceptance", "acceptance", "signature"),
        ChecklistItem("odd", "odd", "auto"),
    )
    checklist = Checklist("living", items)
    before = fill(checklist, evidence(unit()))
    after = fill(checklist, evidence(unit(), ticks={"told": "A. N.: yes"}, signed_by="A. N."))
    assert {item.outcome for item in before.items} == {Outcome.NOT_TESTED}
    assert [item.outcome for item in after.items] == [
        Outcome.PASS,
        Outcome.NOT_TESTED,
        Outcome.PASS,
        Outcome.NOT_TESTED,
    ]
    assert after.shown == 2


def test_a_garbled_checklist_is_refused_with_its_place():
    with pytest.raises(PlanError, match=r"\$\.items"):
        checklist_from({"kind": "living", "items": 3}, subject="living.json")

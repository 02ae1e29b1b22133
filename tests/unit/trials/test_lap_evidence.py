from dataclasses import replace

import numpy as np
import pytest

from fleet.model.findings import FindingKind
from fleet.numerics.frames import to_sensor
from fleet.trials.lap import RoomWalk, UnitWindow
from fleet.trials.lap_evidence import ACCEPT_RMS_MM, LapEvidence, evaluate_lap
from fleet.trials.lap_findings import findings_from_lap
from tests.unit.trials.walks import DEN, LOFT, POSES, line, measured, person_at, plan, walk

AT = {"den": "2026-11-25T10:00:00.000Z", "loft": "2026-11-25T10:01:00.000Z"}


def lap(the_plan, den, loft):
    walks = [walk(DEN, {"s-den": None, "s-loft": None} | den)]
    walks.append(walk(LOFT, {"s-den": None, "s-loft": None} | loft, seed=2))
    return evaluate_lap(the_plan, walks, AT)


def kinds(the_plan, evidence):
    return [(f.kind, f.unit, f.room) for f in findings_from_lap(the_plan, evidence)]


FAULTLESS = plan(line("s-den", "den"), line("s-loft", "loft"))


def test_a_faultless_lap_gives_no_finding_and_accepts_both_mounts():
    evidence = lap(FAULTLESS, {"s-den": POSES["s-den"]}, {"s-loft": POSES["s-loft"]})
    assert kinds(FAULTLESS, evidence) == []
    assert evidence.home_of("s-den") == "den"
    assert evidence.walked_at == AT
    for mount in evidence.mounts.values():
        assert mount.fits_as_planned
        assert not mount.fits_turned


@pytest.mark.parametrize("serial", ["s-den", "s-loft"])
def test_the_fitted_pose_is_the_planned_one_within_what_the_noise_allows(serial):
    evidence = lap(FAULTLESS, {"s-den": POSES["s-den"]}, {"s-loft": POSES["s-loft"]})
    fitted, planned = evidence.mounts[serial].pose, POSES[serial]
    assert np.hypot(fitted.x_mm - planned.x_mm, fitted.y_mm - planned.y_mm) < 100
    turned_mdeg = (fitted.heading_mdeg - planned.heading_mdeg + 180_000) % 360_000 - 180_000
    assert abs(turned_mdeg) < 3000


def test_a_unit_turned_over_fits_only_mirrored():
    evidence = lap(FAULTLESS, {"s-den": POSES["s-den"].mirrored()}, {"s-loft": POSES["s-loft"]})
    assert kinds(FAULTLESS, evidence) == [(FindingKind.MIRRORED_MOUNT, "S-DEN", "den")]
    assert evidence.mounts["s-den"].planned_rms_mm > ACCEPT_RMS_MM
    assert evidence.mounts["s-den"].pose.upside_down


def test_a_unit_planned_upside_down_and_hung_so_is_no_finding():
    the_plan = plan(line("s-den", "den", upside_down=True), line("s-loft", "loft"))
    evidence = lap(the_plan, {"s-den": POSES["s-den"].mirrored()}, {"s-loft": POSES["s-loft"]})
    assert kinds(the_plan, evidence) == []


def test_two_units_that_swapped_places_are_told_once_and_nothing_else():
    evidence = lap(FAULTLESS, {"s-loft": POSES["s-den"]}, {"s-den": POSES["s-loft"]})
    (finding,) = findings_from_lap(FAULTLESS, evidence)
    assert finding.kind is FindingKind.LABELS_CROSSED
    assert (finding.unit, finding.room) == ("S-DEN", "den")
    assert finding.evidence["crossed_with"] == "S-LOFT"
    assert finding.evidence["found_in"] == "Loft"


def test_a_walker_next_door_who_is_seen_a_third_of_the_time_is_bleed_through():
    evidence = LapEvidence(
        shares_ppm={
            "den": {"s-den": 990_000, "s-loft": 340_000},
            "loft": {"s-loft": 980_000, "s-den": 0},
        }
    )
    (finding,) = findings_from_lap(FAULTLESS, evidence)
    assert (finding.kind, finding.unit) == (FindingKind.BLEED_THROUGH, "S-LOFT")
    assert finding.evidence == {"walked": "Den", "seen_ppm": 340_000}


def test_a_unit_that_sees_two_rooms_alike_has_no_home():
    evidence = LapEvidence(shares_ppm={"den": {"s-den": 600_000}, "loft": {"s-den": 500_000}})
    assert evidence.home_of("s-den") == ""


def test_a_unit_that_saw_nobody_or_a_lap_not_walked_says_nothing():
    assert LapEvidence().home_of("s-den") == ""
    assert kinds(FAULTLESS, lap(FAULTLESS, {}, {})) == []


def test_a_mirror_image_beyond_the_wall_is_a_ghost_and_leaves_the_mount_alone():
    room_walk = walk(DEN, {"s-den": POSES["s-den"], "s-loft": None})
    window, rng = room_walk.windows["s-den"], np.random.default_rng(3)
    places_mm = person_at(room_walk.stands, window.report_s)
    images_mm = np.stack([places_mm[:, 0], 10_000 - places_mm[:, 1]], axis=1)
    shown = (images_mm[:, 1] < 6500) & (np.arange(len(images_mm)) % 10 < 7)
    ghosts = measured(images_mm[shown], POSES["s-den"], rng)
    haunted = UnitWindow(
        window.report_s,
        window.seen,
        np.concatenate([window.point_s, window.report_s[shown]]),
        np.concatenate([window.points_mm, ghosts]),
    )
    walks = [RoomWalk("den", room_walk.stands, room_walk.windows | {"s-den": haunted})]
    evidence = evaluate_lap(FAULTLESS, walks, AT)
    (finding,) = findings_from_lap(FAULTLESS, evidence)
    assert (finding.kind, finding.unit) == (FindingKind.GHOST, "S-DEN")
    assert 400 < finding.evidence["past_wall_mm"] < 1500
    assert evidence.mounts["s-den"].fits_as_planned


def test_a_handful_of_reports_at_too_few_marks_judges_no_mount():
    room_walk = walk(DEN, {"s-den": POSES["s-den"], "s-loft": None})
    window = room_walk.windows["s-den"]
    early = window.point_s < 6
    short = replace(window, point_s=window.point_s[early], points_mm=window.points_mm[early])
    walks = [RoomWalk("den", room_walk.stands, {"s-den": short, "s-loft": short})]
    assert evaluate_lap(FAULTLESS, walks, AT).mounts == {}


def test_marks_in_a_line_judge_no_mount():
    room_walk = walk(DEN, {"s-den": POSES["s-den"], "s-loft": None})
    window = room_walk.windows["s-den"]
    flat = np.stack([np.zeros(len(window.points_mm)), window.points_mm[:, 1]], axis=1)
    walks = [RoomWalk("den", room_walk.stands, {"s-den": replace(window, points_mm=flat)})]
    assert evaluate_lap(FAULTLESS, walks, AT).mounts == {}


def test_the_made_up_reports_are_what_the_frames_say():
    assert to_sensor(np.array([[3000.0, 2500.0]]), POSES["s-den"]).round().tolist() == [[0, 3000]]

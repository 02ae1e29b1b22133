"""The installer, tick by tick: every stage, and every fault at its stage."""

import json

import pytest

from fleet.simulator import names
from fleet.simulator.truth import FirmwareFault
from tests.unit.simulator.firmware_images import bench, digest_of, make_image, order_for
from tests.unit.simulator.small_house import BUILD, DESK, SETTINGS

IMAGE = make_image()
STAGES = ["verifying", "staged", "applying", "rebooting", "confirming", "completed"]


def firmware(unit) -> dict:
    return json.loads(unit.text_of(names.IMAGE))


def renewal(unit) -> dict:
    return json.loads(unit.text_of(names.RENEWAL))


def test_a_unit_that_was_never_updated_is_idle_and_runs_what_it_came_with():
    with bench() as made:
        assert renewal(made.unit) == {"stage": "idle"}
        assert firmware(made.unit) == {
            "release": "1.2.0",
            "build": "b-12",
            "digest": BUILD.image_digest,
            "sequence": 12,
            "slot": "a",
            "confirmed": True,
        }


def test_an_installation_goes_through_every_stage_and_ends_with_the_new_build_confirmed():
    with bench() as made:
        made.install(IMAGE)
        assert made.ended() == STAGES
        assert firmware(made.unit) == {
            "release": "1.3.0",
            "build": "b-13",
            "digest": digest_of(IMAGE),
            "sequence": 13,
            "slot": "b",
            "confirmed": True,
        }
        assert made.installer.image is None
        assert not made.installer.busy


def test_until_it_has_confirmed_the_new_build_it_says_so():
    with bench() as made:
        made.install(IMAGE)
        made.until("confirming")
        assert firmware(made.unit)["release"] == "1.3.0"
        assert firmware(made.unit)["confirmed"] is False


def test_the_next_installation_goes_to_the_slot_that_runs_no_more():
    with bench() as made:
        for _ in range(2):
            made.install(IMAGE)
            made.ended()
        assert firmware(made.unit)["slot"] == "a"


def test_progress_is_told_with_octets_that_never_fall():
    with bench() as made:
        made.install(IMAGE)
        made.ended()
        made.tick()
        told = made.ear.of(names.RENEWAL)
        applied = [said["bytesDone"] for said in told if said["stage"] == "applying"]
        assert applied == sorted(applied)
        assert len(set(applied)) > 3
        assert {said.get("bytesTotal") for said in told} == {len(IMAGE)}
        assert told[-1]["stage"] == "completed"


def test_streams_are_reset_at_the_reboot_and_numbers_begin_again():
    with bench() as made:
        made.install(IMAGE)
        made.until("confirming")
        heard = [name for name, _ in made.ear.heard]
        assert heard.count("reset") == 1
        after = heard[heard.index("reset") :].count(names.ECHOES)
        assert after == made.unit.number


def test_settings_and_areas_survive_an_installation():
    with bench() as made:
        made.install(IMAGE)
        made.ended()
        assert made.unit.values == SETTINGS
        assert made.unit.areas == (DESK,)


CUTS = [
    (FirmwareFault.CUT_VERIFYING, "failed"),
    (FirmwareFault.CUT_STAGED, "failed"),
    (FirmwareFault.CUT_APPLYING, "failed"),
    (FirmwareFault.CUT_REBOOTING, "rolled-back"),
    (FirmwareFault.CUT_CONFIRMING, "rolled-back"),
]


@pytest.mark.parametrize(("fault", "end"), CUTS)
def test_a_power_cut_leaves_the_old_build_and_says_why(fault, end):
    with bench(firmware_fault=fault) as made:
        made.install(IMAGE)
        stages = made.ended()
        assert (stages[-1], made.reason) == (end, "power-loss")
        assert stages[-2] == fault.removeprefix("power-cut-")
        assert firmware(made.unit)["release"] == "1.2.0"
        assert firmware(made.unit)["confirmed"] is True
        assert made.installer.slots.other_build is None
        assert made.installer.known_order == 0


@pytest.mark.parametrize(("fault", "_end"), CUTS)
def test_the_kept_image_survives_a_power_cut_and_can_be_installed_after_it(fault, _end):
    with bench(firmware_fault=fault) as made:
        made.install(IMAGE)
        made.ended()
        made.installer.begin(order_for(IMAGE), made.world.tick)
        assert made.ended()[-1] == "completed"


def test_the_end_of_an_installation_that_came_to_nothing_is_told_as_trouble():
    with bench(firmware_fault=FirmwareFault.CUT_APPLYING) as made:
        made.install(IMAGE)
        made.ended()
        made.tick()
        (trouble,) = made.ear.of(names.TROUBLE)
        assert trouble["code"] == "power-loss"
        assert "restarted" in trouble["detail"]


def test_a_build_that_does_not_start_is_rolled_back_every_time():
    with bench(firmware_fault=FirmwareFault.BOOT_FAILED) as made:
        for _ in range(2):
            made.install(IMAGE)
            assert made.ended()[-1] == "rolled-back"
            assert made.reason == "boot-failed"
            assert firmware(made.unit)["release"] == "1.2.0"


def test_a_unit_that_hangs_goes_on_reporting_and_a_restart_frees_it():
    with bench(firmware_fault=FirmwareFault.HANG) as made:
        made.install(IMAGE)
        made.until("applying")
        before = made.unit.number
        made.tick(1000)
        assert made.state == "applying"
        assert made.unit.number == before + 1000
        made.unit.restart_asked = True
        made.until("failed")
        assert firmware(made.unit)["release"] == "1.2.0"
        made.install(IMAGE)
        assert made.ended()[-1] == "completed"


def test_a_restart_that_somebody_asks_for_is_a_cut():
    with bench() as made:
        made.install(IMAGE)
        made.until("confirming")
        made.unit.restart_asked = True
        made.until("rolled-back")
        assert firmware(made.unit)["release"] == "1.2.0"


def test_settings_fall_back_to_defaults_after_an_update_that_loses_them():
    with bench(firmware_fault=FirmwareFault.SETTINGS_LOST) as made:
        tag = made.unit.etag_of(names.TUNING)
        made.install(IMAGE)
        assert made.ended()[-1] == "completed"
        assert made.unit.values == {
            "max_distance_mm": 7000,
            "hold_time_s": 30,
            "sensitivity_percent": 60,
            "indicator_light": True,
            "warm_up_s": 0,
            "night_mode": False,
            "site_note": "",
        }
        assert made.unit.etag_of(names.TUNING) != tag
        assert made.unit.areas == (DESK,)


def test_reports_are_lost_after_an_update_that_loses_them_and_not_before():
    with bench(firmware_fault=FirmwareFault.REPORTS_LOST) as made:
        made.tick(999)
        assert len(made.ear.of(names.ECHOES)) == 1000
        made.install(IMAGE)
        made.ended()
        made.ear.heard.clear()
        made.tick(1000)
        assert len(made.ear.of(names.ECHOES)) == pytest.approx(800, abs=50)


@pytest.mark.parametrize(
    ("image", "changes", "reason"),
    [
        (IMAGE, {"digest": "0" * 64}, "digest-mismatch"),
        (IMAGE, {"size": len(IMAGE) + 1}, "digest-mismatch"),
        (make_image(class_id="another"), {}, "incompatible"),
        (make_image(hardware_revisions=["H3", "H5"]), {}, "incompatible"),
        (make_image(seal="0" * 64), {}, "signature"),
        (make_image(version="1.4.0"), {}, "signature"),
        (make_image(sequence=14), {}, "signature"),
        (make_image(build_id="b-14"), {}, "signature"),
        (make_image(sequence=11), {"sequence": None}, "downgrade"),
    ],
)
def test_an_image_that_must_not_be_installed_fails_while_it_is_verified(image, changes, reason):
    with bench() as made:
        made.install(image, **changes)
        assert made.ended() == ["verifying", "failed"]
        assert (made.reason, made.unit.boots) == (reason, 1)
        assert firmware(made.unit)["release"] == "1.2.0"


@pytest.mark.parametrize(
    ("image", "changes", "build"),
    [
        (b"any octets", {}, ("1.3.0", "b-13", 13)),
        (b"\xff\n" * 9000, {"sequence": None, "build_id": ""}, ("1.3.0", "", 12)),
        (make_image(), {"sequence": None, "build_id": ""}, ("1.3.0", "b-13", 13)),
        (make_image(hardware_revisions=[]), {}, ("1.3.0", "b-13", 13)),
        (
            make_image(sequence=11),
            {"sequence": 11, "downgrade_allowed": True},
            ("1.3.0", "b-13", 11),
        ),
        (make_image(sequence=None, class_id=None), {}, ("1.3.0", "b-13", 13)),
    ],
)
def test_what_an_image_does_not_say_is_taken_from_the_request(image, changes, build):
    with bench() as made:
        made.install(image, **changes)
        assert made.ended()[-1] == "completed"
        runs = made.installer.slots.build
        assert (runs.version, runs.build_id, runs.sequence) == build


def test_a_staged_image_waits_through_restarts_and_is_a_stage_of_its_own():
    with bench() as made:
        made.stage(IMAGE)
        made.unit.restart_asked = True
        made.tick(100)
        said = {"stage": "staged", "digest": digest_of(IMAGE)}
        assert renewal(made.unit) == said | {"bytesDone": len(IMAGE), "bytesTotal": len(IMAGE)}


@pytest.mark.parametrize("stage", ["verifying", "staged"])
def test_an_order_that_is_dropped_early_leaves_the_image_staged(stage):
    with bench() as made:
        made.install(IMAGE)
        made.until(stage)
        assert made.installer.cancel()
        made.tick(200)
        assert (made.state, made.unit.boots) == ("staged", 1)
        assert not made.installer.cancel()


def test_an_order_that_is_being_applied_cannot_be_dropped():
    with bench() as made:
        made.install(IMAGE)
        made.until("applying")
        assert not made.installer.cancel()
        assert made.ended()[-1] == "completed"


def test_a_wiped_unit_keeps_its_build_and_nothing_else():
    with bench() as made:
        made.install(IMAGE)
        made.ended()
        made.stage(IMAGE)
        made.unit.wipe(keep_network=True)
        made.tick(100)
        assert firmware(made.unit)["release"] == "1.3.0"
        assert renewal(made.unit) == {"stage": "idle"}
        assert made.unit.areas == ()
        assert made.unit.values["hold_time_s"] == 30
        assert not made.unit.down


def test_a_unit_that_was_wiped_with_its_network_never_answers_again():
    with bench() as made:
        made.unit.wipe(keep_network=False)
        made.tick(10_000)
        assert made.unit.down

"""One unit through an update, against the simulated one and all that can go wrong in it."""

from dataclasses import replace

import pytest

from fleet.jobs.update_outcomes import StageLimits
from fleet.model.firmware import CampaignState, UpdateStage, UpdateState
from fleet.simulator.truth import FirmwareFault
from tests.campaigns import ends, served

SPEED = 40.0
SHORT = StageLimits(fetching=20, verifying=20, staged=8, applying=12, rebooting=30, confirming=30)
DONE, OLD, LOST = UpdateState.DONE, UpdateState.OLD_BUILD, UpdateState.NOT_RECOVERED


async def updated(folder, fault=None, **terms):
    """Update one unit; return how it ended, the simulated unit and the parts of the visit's last look."""
    faults = {"N001": fault} if fault else {}
    async with served(folder, 1, speed=SPEED, faults=faults) as (parts, (unit,)):
        campaign = await parts.run(limits=SHORT, **terms)
        reading = await parts.fleet.read_again("NN-00000")
        kinds = [row.what for row in parts.inventory.journal()]
        assert parts.inventory.first_broken_row() is None
        assert parts.inventory.campaigns.one() == _without_progress(campaign)
        return campaign.updates[0], unit, reading.sheet, kinds


def _without_progress(campaign):
    updates = tuple(replace(one, done_ppm=None, left_s=None) for one in campaign.updates)
    return replace(campaign, updates=updates)


@pytest.mark.parametrize("pull", [False, True], ids=["sent", "fetched"])
async def test_a_unit_is_updated_checked_and_watched(pull, tmp_path):
    update, unit, sheet, kinds = await updated(tmp_path, pull=pull)
    assert (update.state, update.stage) == (DONE, UpdateStage.CHECKING)
    assert "runs 2.1.3 (sequence 30), confirmed; 5 settings and 1 area read back" in update.said
    assert "none lost" in update.said
    assert sheet["build.version"] == "2.1.3"
    assert unit.installer.slots.confirmed
    begun, staged = kinds.index("update-begun"), kinds.index("update-stage")
    assert begun < staged < kinds.index("update-ended")


@pytest.mark.parametrize(
    ("fault", "state", "words"),
    [
        (FirmwareFault.CUT_FETCHING, DONE, "the first upload was broken off"),
        (FirmwareFault.RESET, DONE, "the first upload was broken off"),
        (FirmwareFault.CUT_VERIFYING, OLD, "its power was cut"),
        (FirmwareFault.CUT_STAGED, OLD, "its power was cut"),
        (FirmwareFault.CUT_APPLYING, OLD, "its power was cut"),
        (FirmwareFault.CUT_REBOOTING, OLD, "its power was cut"),
        (FirmwareFault.CUT_CONFIRMING, OLD, "its power was cut"),
        (FirmwareFault.ANSWERS_500, DONE, "confirmed"),
        (FirmwareFault.HANG, LOST, "it says 'applying' and nothing new"),
        (FirmwareFault.WRONG_DIGEST, OLD, "what it kept isn't what was sent"),
        (FirmwareFault.BOOT_FAILED, OLD, "the new build didn't start"),
        (FirmwareFault.NO_SPACE, OLD, "There is no room"),
        (FirmwareFault.SETTINGS_LOST, DONE, "of them put back"),
        (FirmwareFault.REPORTS_LOST, LOST, "lost"),
    ],
)
async def test_whatever_goes_wrong_its_end_is_known_and_said(fault, state, words, tmp_path):
    update, unit, sheet, _ = await updated(tmp_path, fault)
    assert (update.state, words in update.said) == (state, True), update.said
    new = state is DONE or fault is FirmwareFault.REPORTS_LOST
    assert sheet["build.version"] == ("2.1.3" if new else "2.0.4")
    assert sheet["setting.hold_time_s"] == 45
    assert sheet["areas.1.label"] == "Seat"
    assert unit.installer.orders <= 1


@pytest.mark.parametrize(
    "fault",
    [FirmwareFault.RESET, FirmwareFault.WRONG_DIGEST, FirmwareFault.ANSWERS_500],
)
async def test_what_goes_wrong_in_fetching_is_known_too(fault, tmp_path):
    update, unit, sheet, _ = await updated(tmp_path, fault, pull=True)
    done = fault is FirmwareFault.ANSWERS_500
    assert update.state is (DONE if done else OLD), update.said
    assert sheet["build.version"] == ("2.1.3" if done else "2.0.4")
    assert unit.installer.orders == 1


async def test_a_unit_that_runs_it_already_is_left_alone(tmp_path):
    async with served(tmp_path, 1, speed=SPEED) as (parts, (unit,)):
        plan = parts.plan()
        first = await parts.run_of(parts.begin(plan)).run(by="Tester")
        assert ends(first) == {"N001": "done"}
        again = await parts.run_of(parts.begin(plan)).run(by="Tester")
        assert again.updates[0].state is UpdateState.ALREADY
        assert again.state is CampaignState.DONE
        assert unit.installer.orders == 1


async def test_a_unit_that_is_gone_is_refused_before_a_byte_and_named(tmp_path):
    async with served(tmp_path, 1, speed=SPEED) as (parts, (unit,)):
        plan = parts.plan()
        unit.keep_network = False
        unit.lose_power()
        campaign = await parts.run_of(parts.begin(plan)).run(by="Tester")
        (update,) = campaign.updates
        assert update.state is UpdateState.REFUSED
        assert "nothing was sent" in update.said
        assert campaign.state is CampaignState.AT_GATE
        assert unit.installer.fetches == 0

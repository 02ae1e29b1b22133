"""Campaigns on the disk: each step with its row in the journal, one campaign at a time."""

from dataclasses import replace

import pytest

from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.model.firmware import (
    CampaignState,
    CampaignTerms,
    UnitUpdate,
    UpdateStage,
    UpdateState,
    Wave,
)
from tests.inventories import CountingClock, small_plan
from tests.shelves import IMAGE, OLDEST

TERMS = CampaignTerms(at_once=3, dwell_s=60, pull=True, shelf="/media/stick")
UPDATES = (
    UnitUpdate("S-1", "U1", "H4 tracking 5.2", Wave.BENCH, room="hall"),
    UnitUpdate("S-3", "U3", "H4 static 5.2", Wave.REST, room="loft"),
)
FOUND = {"setting.hold_time_s": 20, "build.version": "2.0.4"}


def begun(inventory, image=IMAGE):
    return inventory.campaigns.begin(image, TERMS, UPDATES, by="Invented Installer")


@pytest.mark.parametrize("image", [IMAGE, OLDEST], ids=["with an end of support", "without"])
def test_a_campaign_comes_back_as_it_was_begun(inventory, reopened, image):
    campaign = begun(inventory, image)
    assert campaign.number == 1
    assert campaign.state is CampaignState.PAUSED
    assert reopened().campaigns.one() == campaign


def test_there_is_none_at_first(inventory):
    assert inventory.campaigns.one() is None
    assert inventory.campaigns.one(7) is None


def test_a_second_campaign_waits_for_the_end_of_the_first(inventory):
    begun(inventory)
    with pytest.raises(PlanError, match="campaign 1 has no end yet"):
        begun(inventory)
    inventory.campaigns.save_state(1, CampaignState.STOPPED, "stopped", by="A")
    assert begun(inventory).number == 2
    assert inventory.campaigns.one(1).state is CampaignState.STOPPED


def test_a_unit_is_kept_with_its_sheet_before_anything_is_sent(inventory, reopened):
    begun(inventory)
    running = replace(UPDATES[0], state=UpdateState.RUNNING, stage=UpdateStage.SENDING)
    inventory.campaigns.save_update(1, running, FOUND)
    opened = reopened()
    assert opened.campaigns.one().updates == (running, UPDATES[1])
    assert opened.campaigns.as_found(1, "S-1") == FOUND
    assert opened.campaigns.as_found(1, "S-3") == {}


def test_every_step_is_accounted_for(inventory):
    begun(inventory)
    running = replace(UPDATES[0], state=UpdateState.RUNNING, stage=UpdateStage.SENDING)
    inventory.campaigns.save_update(1, running, FOUND)
    inventory.campaigns.save_update(1, replace(running, stage=UpdateStage.ORDERED))
    ended = replace(running, state=UpdateState.OLD_BUILD, said="it failed", took_s=9)
    inventory.campaigns.save_update(1, ended)
    inventory.campaigns.save_state(1, CampaignState.AT_GATE, "U1 failed", by="A")
    rows = inventory.journal()[-5:]
    assert [row.what for row in rows] == [
        "campaign-begun", "update-begun", "update-stage", "update-ended", "campaign-stands",
    ]  # fmt: skip
    assert rows[1].detail["as_found"] == FOUND
    assert rows[3].detail["said"] == "it failed"
    assert inventory.first_broken_row() is None


def test_a_person_accepts_failures_with_a_reason(inventory):
    begun(inventory)
    inventory.campaigns.save_update(1, replace(UPDATES[0], state=UpdateState.OLD_BUILD))
    inventory.campaigns.accept(1, by="A", why="a board known to be bad")
    first, second = inventory.campaigns.one().updates
    assert (first.accepted, second.accepted) == (True, False)
    row = inventory.journal()[-1]
    assert (row.what, row.detail["units"]) == ("campaign-accepted", ["S-1"])


def test_a_campaign_or_a_unit_that_is_not_there_is_refused(inventory):
    with pytest.raises(PlanError, match="no campaign 3"):
        inventory.campaigns.save_state(3, CampaignState.DONE, "")
    begun(inventory)
    with pytest.raises(PlanError, match="no unit of campaign 1"):
        inventory.campaigns.save_update(1, replace(UPDATES[0], serial="S-9"))


def test_campaigns_are_those_of_the_current_site(inventory):
    begun(inventory)
    inventory.add_site(small_plan("Other Lodge"))
    inventory.choose_site("Other Lodge")
    assert inventory.campaigns.one() is None
    assert begun(inventory).number == 2


def test_another_program_reads_how_a_campaign_stands(inventory):
    campaign = begun(inventory)
    with open_inventory(inventory.path.parent, CountingClock()) as reader:
        assert reader.read_only
        assert reader.campaigns.one() == campaign

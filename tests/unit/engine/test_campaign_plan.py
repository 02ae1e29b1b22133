"""Planning a campaign, and what is against updating a unit at its turn."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from fleet.description.things import read_thing
from fleet.engine.campaign_plan import image_named, plan_campaign
from fleet.engine.installation_values import (
    installation_from,
    kept_from,
    lacking,
    order_for,
    read_build,
)
from fleet.engine.installing import UnitUpdating
from fleet.model.errors import PlanError
from fleet.model.firmware import CampaignTerms, Installation, InstallState, UpdateState
from fleet.model.journal import WriteStep
from tests.campaigns import label_of, served
from tests.shelves import IMAGE, OLDER


def shelf_of(*images):
    return SimpleNamespace(images=images, path="/media/stick")


def test_an_image_is_named_by_its_version_and_where_there_are_several_by_its_file():
    twin = replace(IMAGE, file="twin.bin", class_id=OLDER.class_id)
    assert image_named(shelf_of(IMAGE, OLDER), "2.0.4") is OLDER
    assert image_named(shelf_of(IMAGE, twin), "2.1.3", "twin.bin") is twin
    with pytest.raises(PlanError, match=r"2 images of 2\.1\.3.*image-30\.bin, twin\.bin"):
        image_named(shelf_of(IMAGE, twin), "2.1.3")
    with pytest.raises(PlanError, match=r"no image of 9\..*It has: 2\.1\.3"):
        image_named(shelf_of(IMAGE), "9")


async def test_who_does_not_answer_now_or_is_not_asked_for_is_left_out(tmp_path):
    async with served(tmp_path, 3, speed=20.0) as (parts, _):
        serials = [line.serial for line in parts.inventory.plan().units]
        plan = plan_campaign(
            parts.inventory, parts.image, CampaignTerms(), labels=["N001", "N002"], met=serials[:1]
        )
        assert [update.label for update in plan.updates] == ["N001"]
        assert plan.left_out == {"N002": "it doesn't answer now"}
        with pytest.raises(PlanError, match="no unit of that label"):
            plan_campaign(parts.inventory, parts.image, CampaignTerms(), bench=["X"])


async def turn_of(parts, serial="NN-00000"):
    """The end of a unit at its turn."""
    campaign = parts.begin(parts.plan())
    run = parts.run_of(campaign)
    update = next(one for one in campaign.updates if one.serial == serial)
    return await UnitUpdating(run._updating, update, {}).install()


async def test_a_unit_that_is_at_an_installation_already_is_left_alone(tmp_path):
    async with served(tmp_path, 1, speed=20.0) as (parts, (unit,)):
        unit.installer.begin_upload(100)
        ended = await turn_of(parts)
        assert ended.state is UpdateState.REFUSED
        assert "at an installation already (fetching)" in ended.said
        assert unit.installer.orders == 0


async def test_a_unit_of_which_a_write_is_in_doubt_is_sent_nothing(tmp_path):
    async with served(tmp_path, 1, speed=20.0) as (parts, (unit,)):
        items = {"setting.hold_time_s": 30}
        parts.inventory.intend(
            WriteStep("NN-00000", label_of(0), "http://x/", "settings", items, {})
        )
        ended = await turn_of(parts)
        assert ended.state is UpdateState.REFUSED
        assert "a write of its settings is in doubt" in ended.said
        assert unit.installer.fetches == 0


async def test_a_unit_that_does_not_describe_its_progress_is_not_begun(tmp_path):
    async with served(tmp_path, 1, speed=20.0) as (parts, (unit,)):
        link = parts.fleet.link_to("NN-00000")
        assert lacking(link.thing, pull=False) == ()
        kept = {n: a for n, a in link.thing.properties.items() if n != "renewal"}
        link.thing = replace(link.thing, properties=kept)
        assert lacking(link.thing, pull=True) == ("firmware installation",)
        ended = await turn_of(parts)
        assert "its description has no firmware installation" in ended.said
        assert unit.installer.fetches == 0


TD = b"""{"@context": ["https://www.w3.org/2022/wot/td/v1.1",
  {"pres": "https://walkdown.example/presence#"}], "@type": "pres:PresenceUnit", "title": "U",
 "properties": {"p": {"@type": "pres:FirmwareInstallation", "type": "object", "properties": {
   "how": {"@type": "pres:InstallState", "type": "string"},
   "sum": {"@type": "pres:ImageDigest", "type": "string"},
   "bytesDone": {"type": "integer"}, "bytesTotal": {"type": "integer"},
   "why": {"@type": "pres:FailureReason", "type": "string"}}, "forms": [{"href": "p"}]}},
 "actions": {"go": {"@type": "pres:InstallFirmware", "input": {"type": "object", "properties": {
   "sum": {"@type": "pres:ImageDigest", "type": "string"}, "size": {"type": "integer"},
   "v": {"@type": "pres:FirmwareVersion", "type": "string"}}},
   "output": {"type": "object", "properties": {
     "sum": {"@type": "pres:ImageDigest", "type": "string"}, "size": {"type": "integer"}}},
   "forms": [{"href": "go"}]}}}"""


def described():
    return read_thing(TD, "http://127.0.0.1:9/td")


@pytest.mark.parametrize(
    ("said", "means"),
    [
        (
            {"how": "applying", "bytesDone": 5, "bytesTotal": 9, "sum": "AB"},
            Installation(InstallState.APPLYING, 5, 9, "ab"),
        ),
        ({"how": "dancing", "why": "x\u202e"}, Installation(None, reason="x")),
        ({"how": 7, "bytesDone": -1, "bytesTotal": True, "sum": 3}, Installation()),
        ("nothing of the kind", Installation()),
    ],
)
def test_progress_is_read_as_far_as_it_is_understood(said, means):
    found = installation_from(described().properties["p"], said)
    assert replace(found, reason=found.reason[:1]) == means


def test_a_unit_is_told_what_its_action_takes_and_nothing_else():
    action = described().actions["go"]
    told = order_for(action, IMAGE, url="", backwards=True)
    assert told == {"sum": IMAGE.sha256, "size": IMAGE.size_bytes, "v": "2.1.3"}
    with pytest.raises(PlanError, match="no url"):
        order_for(action, IMAGE, url="http://192.0.2.1/x", backwards=False)


def test_what_a_unit_kept_is_read_from_its_answer():
    action = described().actions["go"]
    assert kept_from(action, {"sum": "AB", "size": 4}) == ("ab", 4)
    assert kept_from(action, None) == ("", None)


async def test_what_runs_is_read_with_whether_it_is_confirmed(tmp_path):
    async with served(tmp_path, 1, speed=20.0) as (parts, _):
        build = await read_build(parts.fleet.link_to("NN-00000"))
        assert build.confirmed is True
        assert build.sheet["build.sequence"] == 20

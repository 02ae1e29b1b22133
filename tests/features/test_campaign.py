"""A campaign over simulated units: waves, gates, pause, resume; what is refused before a byte goes out."""

import asyncio
import json
from dataclasses import replace

import pytest

from fleet.engine.campaign_requests import Request, ask, asked
from fleet.model.errors import PlanError
from fleet.model.firmware import CampaignState, UpdateStage, UpdateState, Wave
from fleet.model.house import Match, MatchWord, ModuleType
from fleet.shelf.opening import open_shelf
from fleet.simulator.truth import FirmwareFault
from tests.campaigns import TOLD, container, ends, label_of, served, shelf_with
from tests.shelves import OTHER_ID

pytestmark = pytest.mark.slow
MANY = 30
OLD_BUILD = UpdateState.OLD_BUILD.value


def sent_to(units) -> int:
    """Requests that began an upload, a fetch or an installation, over all units."""
    return sum(unit.installer.fetches + unit.installer.orders for unit in units)


async def test_an_image_goes_over_a_house_in_waves(tmp_path):
    async with served(tmp_path, MANY, speed=8.0) as (parts, units):
        campaign = await parts.run(at_once=12, dwell_s=3, bench=["N004"])
        assert campaign.state is CampaignState.DONE
        assert set(ends(campaign).values()) == {"done"}
        assert campaign.said.startswith(f"0 of {MANY} failed: with 95 % confidence at most 9.5 %")
        order = [update.wave for update in parts.told if update.stage is UpdateStage.SENDING]
        assert order == sorted(order, key=list(Wave).index)
        assert {unit.installer.slots.build.version for unit in units} == {"2.1.3"}
        assert [unit.installer.orders for unit in units] == [1] * MANY


async def test_never_are_two_units_of_one_room_away(tmp_path):
    async with served(tmp_path, 6, speed=20.0) as (parts, _):
        plan = parts.plan(at_once=6)
        shared = tuple(
            replace(update, room="one", wave=Wave.REST) for update in plan.updates[:3]
        ) + tuple(replace(update, wave=Wave.REST) for update in plan.updates[3:])
        run = parts.run_of(parts.begin(replace(plan, updates=shared)))
        most = 0

        def look(campaign, update):
            nonlocal most
            away = [one for one in campaign.updates if one.state is UpdateState.RUNNING]
            most = max(most, len(away))
            assert sum(one.room == "one" for one in away) <= 1

        run._tell = look
        assert (await run.run(by="Tester")).state is CampaignState.DONE
        assert most == 4


async def test_the_first_failure_on_the_bench_stops_it_and_a_person_may_go_on(tmp_path):
    faults = {"N001": FirmwareFault.BOOT_FAILED}
    async with served(tmp_path, 5, speed=30.0, faults=faults) as (parts, units):
        campaign = await parts.run(bench=["N001"])
        assert campaign.state is CampaignState.AT_GATE
        assert ends(campaign)["N001"] == OLD_BUILD
        assert sent_to(units[1:]) == 0
        again = await parts.run_of(campaign).run(by="Tester")
        assert again.state is CampaignState.AT_GATE
        assert sent_to(units[1:]) == 0
        last = await parts.run_of(again).run(by="Tester", why="its board is known to be bad")
        assert last.state is CampaignState.DONE
        assert ends(last) == {"N001": OLD_BUILD} | {label_of(n): "done" for n in range(1, 5)}
        row = next(r for r in parts.inventory.journal() if r.what == "campaign-accepted")
        assert (row.detail["by"], row.detail["units"]) == ("Tester", ["NN-00000"])


async def test_in_the_later_waves_the_second_failure_stops_it(tmp_path):
    # N001, N004 … are of one kind; the bench and the ones of each kind are faultless.
    faults = {label_of(n): FirmwareFault.CUT_APPLYING for n in range(12)}
    async with served(tmp_path, 16, speed=20.0, faults=faults) as (parts, units):
        plan = parts.plan(at_once=1, dwell_s=1)
        whole = [update for update in plan.updates if update.label not in faults]
        broken = [update for update in plan.updates if update.label in faults]
        waves = [Wave.BENCH, Wave.ONE_A_KEY, Wave.ONE_A_KEY, Wave.ONE_A_KEY] + [Wave.REST] * 12
        updates = tuple(
            replace(update, wave=wave)
            for update, wave in zip([*whole, *broken], waves, strict=True)
        )
        campaign = await parts.run_of(parts.begin(replace(plan, updates=updates))).run(by="T")
        assert campaign.state is CampaignState.AT_GATE
        assert list(ends(campaign).values()).count(OLD_BUILD) == 2
        assert "the second failure stops" in campaign.said
        begun = [unit for unit in units if unit.installer.orders]
        assert len(begun) == 6


async def test_a_unit_that_is_not_recovered_stops_it_and_is_read_first_on_the_next_day(tmp_path):
    faults = {"N001": FirmwareFault.HANG}
    async with served(tmp_path, 3, speed=40.0, faults=faults) as (parts, units):
        campaign = await parts.run(bench=["N001"])
        assert ends(campaign)["N001"] == UpdateState.NOT_RECOVERED.value
        assert "Switch its power off and on" in campaign.said
        units[0].lose_power()  # as a person does it
        sent = sent_to(units)
        again = await parts.run_of(campaign).run(by="Tester")
        assert ends(again)["N001"] == OLD_BUILD
        assert "its power was cut" in again.updates[0].said
        assert sent_to(units) == sent


async def test_a_pause_brings_running_units_to_an_end_and_resume_goes_on(tmp_path):
    async with served(tmp_path, 8, speed=20.0) as (parts, units):
        run = parts.run_of(parts.begin(parts.plan(at_once=3, dwell_s=1)))
        running = asyncio.ensure_future(run.run(by="Tester"))
        while not any(u.wave is Wave.QUARTER for u in parts.told):  # noqa: ASYNC110 - no event for it
            await asyncio.sleep(0.01)
        ask(parts.inventory.path.parent, 1, Request.PAUSE)
        paused = await running
        assert paused.state is CampaignState.PAUSED
        assert UpdateState.RUNNING not in {update.state for update in paused.updates}
        assert asked(parts.inventory.path.parent, 1) is None
        assert "waiting" in ends(paused).values()
        kept = parts.inventory.campaigns.one()
        done = await parts.run_of(kept).run(by="Tester")
        assert set(ends(done).values()) == {"done"}
        assert [unit.installer.orders for unit in units] == [1] * 8


async def test_a_stop_is_for_good(tmp_path):
    async with served(tmp_path, 2, speed=30.0) as (parts, units):
        run = parts.run_of(parts.begin(parts.plan(dwell_s=1)))
        run.ask(Request.STOP)
        stopped = await run.run(by="Tester")
        assert stopped.state is CampaignState.STOPPED
        assert sent_to(units) == 0
        with pytest.raises(PlanError, match="campaign 1 is stopped"):
            await parts.run_of(stopped).run(by="Tester")


# Refused before a byte goes out


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"sequence": 15}, "sequence 15 is lower than the unit's, 20: going back is a person's"),
        ({"version": "1.9.0", "sequence": 10}, "going back is a person's decision"),
        ({"class_id": OTHER_ID}, "the image is for class"),
        ({"vendor_id": OTHER_ID}, "the image is for vendor"),
        ({"hardware_revisions": ("Z9",)}, "the image is for hardware Z9"),
        ({"module_types": ("static",)}, "goes with a static module"),
        ({"module_firmwares": ()}, "nobody has vouched for"),
    ],
)
async def test_an_image_that_is_not_for_a_unit_is_refused_at_the_plan_and_at_its_turn(
    changes, words, tmp_path
):
    async with served(tmp_path, 1, speed=30.0) as (parts, (unit,)):
        planned = parts.plan()
        parts.shelf = shelf_with(tmp_path / "other", container(5_000), replace(TOLD, **changes))
        assert words in parts.plan().left_out["N001"]
        campaign = await parts.run_of(
            parts.begin(replace(planned, image=parts.image))  # as if the plan were of another day
        ).run(by="Tester")
        assert ends(campaign) == {"N001": UpdateState.REFUSED.value}
        assert words in campaign.updates[0].said
        assert sent_to([unit]) == 0


async def test_what_the_plan_blocks_is_refused(tmp_path):
    async with served(tmp_path, 1, speed=30.0) as (parts, (unit,)):
        run = parts.run_of(parts.begin(parts.plan()))
        blocked = Match("R3", ModuleType.TRACKING, "5.0", "2.1.3", MatchWord.BLOCKED)
        run._updating = replace(run._updating, matches=(blocked,))
        campaign = await run.run(by="Tester")
        assert "is blocked" in campaign.updates[0].said
        assert sent_to([unit]) == 0


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda octets: octets[:-1] + b"!", "was exchanged after it was checked"),
        (lambda octets: octets[:-1], "was exchanged after it was checked"),
    ],
    ids=["swapped", "truncated"],
)
async def test_an_image_that_changes_after_the_check_stops_the_campaign_at_its_next_unit(
    spoil, words, tmp_path
):
    async with served(tmp_path, 2, speed=30.0) as (parts, units):
        campaign = parts.begin(parts.plan(dwell_s=1))
        octets = parts.shelf.image_bytes(parts.image)
        (parts.shelf.path / parts.image.file).write_bytes(spoil(octets))
        stopped = await parts.run_of(campaign).run(by="Tester")
        assert stopped.state is CampaignState.AT_GATE
        assert words in stopped.said
        assert set(ends(stopped).values()) == {"waiting"}
        assert sent_to(units) == 0


async def test_a_truncated_image_and_a_bad_signature_are_refused_at_the_shelf(tmp_path):
    async with served(tmp_path, 1, speed=30.0) as (parts, units):
        path = parts.shelf.path / parts.image.file
        octets = path.read_bytes()
        path.write_bytes(octets[:-10])
        fresh = open_shelf(parts.shelf.path, {parts.shelf.fingerprint})
        with pytest.raises(PlanError, match="it is cut off"):
            fresh.image_bytes(parts.image)
        path.write_bytes(octets)
        manifest = parts.shelf.path / "shelf.json"
        document = json.loads(manifest.read_bytes())
        document["images"][0]["sequence"] = 99
        manifest.write_bytes(json.dumps(document, separators=(",", ":"), sort_keys=True).encode())
        with pytest.raises(PlanError, match="not the signature of this"):
            open_shelf(parts.shelf.path, {parts.shelf.fingerprint})
        assert sent_to(units) == 0

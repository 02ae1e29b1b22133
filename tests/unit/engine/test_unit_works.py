"""What a visit writes to units, through the visit itself, on real simulated units."""

import asyncio

from fleet.engine.visit import Visit
from fleet.inventory.inventory import open_inventory
from fleet.model.firmware import CampaignState, UpdateState
from fleet.shelf.trust import KEY_TRUSTED
from fleet.simulator.running import running_house
from tests.campaigns import TOLD, container, house_clock, house_of, shelf_with


async def test_a_visit_plans_restores_and_runs_a_campaign_to_its_end(tmp_path):
    plan, truth = house_of(2)
    shelf, clock = shelf_with(tmp_path, container(50_000)), house_clock(20.0)
    inventory = open_inventory(tmp_path / "data", clock)
    inventory.add_site(plan)
    inventory.append(
        KEY_TRUSTED, shelf.fingerprint, {"fingerprint": shelf.fingerprint, "by": "A", "why": "told"}
    )
    async with running_house(plan, truth, clock=clock, announce=False) as place:
        visit = Visit(inventory, clock, at_end=inventory.close)
        await visit.start()
        try:
            results = await visit.add_addresses(" ".join(unit.url for unit in place.units))
            serials = [result.serial for result in results]
            assert all(serials), results
            (kept, *_) = await visit.kept_sheets(serials[0])
            assert (await visit.plan_restore(serials[0], kept.key))[0] == ()
            assert {row.key for row in await visit.where_from(serials[0])} >= {"module.type"}
            (line,) = await visit.open_shelf(shelf.path)
            assert line.trusted
            planned = await visit.plan_campaign(
                TOLD.version, serials, bench=(), at_once=2, dwell_s=2, pull=False
            )
            assert planned.left_out == {}
            await visit.start_campaign(planned, by="A")
            async with asyncio.timeout(60):
                await visit._campaigning
            ended = visit.refresh().campaign
            assert ended.state is CampaignState.DONE, ended
            assert {update.state for update in ended.updates} == {UpdateState.DONE}
        finally:
            await visit.stop()

"""What a visit writes to units, through the visit itself, on real simulated units."""

import asyncio
from contextlib import asynccontextmanager
from dataclasses import replace

import pytest

from fleet.engine.visit import Visit
from fleet.inventory.inventory import open_inventory
from fleet.jobs.install_rules import RefusalKind
from fleet.model.errors import PlanError
from fleet.model.firmware import CampaignState, UpdateState
from fleet.shelf.trust import KEY_TRUSTED
from fleet.simulator.running import running_house
from tests.campaigns import OLD, TOLD, container, house_clock, house_of, shelf_with


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
            (line,) = (await visit.open_shelf(shelf.path)).images
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


OLDER = replace(TOLD, version="1.8.0", build_id="b-180", sequence=10)
BY = {"by": "A. Fitter", "why": "compared by phone"}
TERMS = {"bench": (), "at_once": 2, "dwell_s": 2, "pull": False}


@asynccontextmanager
async def visited(folder):
    """A visit that met both units of a house, and its inventory."""
    plan, truth = house_of(2)
    clock = house_clock(20.0)
    inventory = open_inventory(folder / "data", clock)
    inventory.add_site(plan)
    async with running_house(plan, truth, clock=clock, announce=False) as place:
        visit = Visit(inventory, clock, at_end=inventory.close)
        await visit.start()
        try:
            results = await visit.add_addresses(" ".join(unit.url for unit in place.units))
            yield visit, inventory, [result.serial for result in results]
        finally:
            await visit.stop()


async def ended(visit):
    async with asyncio.timeout(60):
        await visit._campaigning
    return visit.refresh().campaign


async def test_a_shelf_is_used_from_the_word_on_its_key_until_trust_is_withdrawn(tmp_path):
    shelf = shelf_with(tmp_path, container(50_000))
    async with visited(tmp_path) as (visit, _, serials):
        look = await visit.open_shelf(shelf.path)
        assert (look.trusted, look.fingerprint, look.images) == (False, shelf.fingerprint, ())
        with pytest.raises(PlanError, match="no shelf was opened"):
            await visit.plan_campaign(TOLD.version, serials, **TERMS)
        await visit.trust_key(look.fingerprint, **BY)
        assert (await visit.open_shelf(shelf.path)).trusted
        planned = await visit.plan_campaign(TOLD.version, serials, **TERMS)
        await visit.distrust_key(look.fingerprint, by="A. Fitter", why="stolen")
        with pytest.raises(PlanError, match="no shelf was opened"):
            await visit.start_campaign(planned, by="A")
        (word,) = await visit.shelf_keys()
        assert (word.trusted, word.why) == (False, "stolen")


async def test_a_campaign_pauses_when_its_key_is_trusted_no_longer_and_goes_on_when_it_is(tmp_path):
    shelf = shelf_with(tmp_path, container(50_000))
    async with visited(tmp_path) as (visit, _, serials):
        await visit.trust_key(shelf.fingerprint, **BY)
        await visit.open_shelf(shelf.path)
        planned = await visit.plan_campaign(TOLD.version, serials, **TERMS)
        await visit.start_campaign(planned, by="A")
        await visit.distrust_key(shelf.fingerprint, by="A. Fitter", why="stolen")
        campaign = await ended(visit)
        assert campaign.state is CampaignState.PAUSED
        assert UpdateState.WAITING in {update.state for update in campaign.updates}
        with pytest.raises(PlanError, match="nobody here trusts"):
            await visit.resume_campaign(by="A")
        await visit.trust_key(shelf.fingerprint, **BY)
        moved = shelf.path.rename(tmp_path / "another stick")
        with pytest.raises(PlanError, match="no such folder"):
            await visit.resume_campaign(by="A")
        await visit.resume_campaign(by="A", shelf=moved)
        assert (await ended(visit)).state is CampaignState.DONE


async def test_an_older_build_goes_on_only_where_a_reason_is_given_which_is_journaled(tmp_path):
    shelf = shelf_with(tmp_path, container(50_000, OLDER), OLDER)
    async with visited(tmp_path) as (visit, inventory, serials):
        await visit.trust_key(shelf.fingerprint, **BY)
        await visit.open_shelf(shelf.path)
        planned = await visit.plan_campaign(OLDER.version, serials, **TERMS)
        assert planned.updates == ()
        assert set(planned.refusals.values()) == {RefusalKind.SEQUENCE}
        assert "going back is a person's decision" in planned.left_out["N001"]
        why = f"{OLD.version} loses still people"
        meant = await visit.plan_campaign(OLDER.version, serials, downgrade_why=why, **TERMS)
        assert (meant.left_out, meant.terms.allow_downgrade) == ({}, True)
        await visit.start_campaign(meant, by="A. Fitter")
        campaign = await ended(visit)
        assert {update.state for update in campaign.updates} == {UpdateState.DONE}, campaign
        assert campaign.terms.downgrade_why == why
        (row,) = inventory.journal_of("campaign-begun")
        assert (row.detail["by"], row.detail["terms"]["downgrade_why"]) == ("A. Fitter", why)
        running = {unit.found.sheet["build.version"] for unit in visit.refresh().units.values()}
        assert running == {OLDER.version}


async def test_a_kept_secret_is_sent_to_an_address_by_somebody_named_alone(tmp_path):
    async with visited(tmp_path) as (visit, inventory, _):
        for by, said in ((" ", "has to be said"), ("A. Fitter", "nothing is kept under urn:other")):
            with pytest.raises(PlanError, match=said):
                await visit.send_kept_secret("urn:other", "http://192.0.2.7:80", by=by)
        assert "secret-sent" not in [row.what for row in inventory.journal()]

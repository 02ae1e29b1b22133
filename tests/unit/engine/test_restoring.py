"""A unit is brought back to a kept sheet by the path of every other write, and read back after."""

import pytest
from aiohttp import web

from fleet.engine.apply_run import apply_changes
from fleet.engine.restoring import chosen_sheet, rehearse_restoring, restore_unit
from fleet.model.errors import LinkError
from fleet.model.journal import StepState
from tests.faults.walked_apply import changes_of
from tests.faults.walked_units import FIRST, House
from tests.peers.scattered_server import PLATE
from tests.unit.engine.working_house import HOLD, REACH, at_work


async def changed(hands):
    """Apply all that is wanted; return the sheet as found before of each unit."""
    await apply_changes(hands, changes_of(hands), by="A")
    kept = {serial: hands.inventory.sheets_of_unit(serial) for serial in (FIRST, PLATE)}
    return {serial: chosen_sheet(sheets, "as-found") for serial, sheets in kept.items()}


@pytest.mark.parametrize("serial", [FIRST, PLATE])
async def test_settings_and_areas_come_back_and_are_journaled_with_the_reason(tmp_path, serial):
    async with at_work(tmp_path) as (house, hands):
        kept = (await changed(hands))[serial]
        done = await restore_unit(hands, serial, kept, by="A", label="U1")
        assert {result.state for result in done.results} == {StepState.DONE}
        assert (done.left, done.impossible) == ((), ())
        first, now = House.at_first()[serial], house.state()[serial]
        assert {name: now[name] for name in first if name != "about"} == first
        intents = hands.inventory.journal_of("step-intended")
        assert {row.detail["why"] for row in intents if "why" in row.detail} == {
            f"restored to {kept.key}"
        }
        again = await restore_unit(hands, serial, kept, by="A")
        assert again.results == ()


async def test_what_cannot_be_restored_is_said_and_the_rest_is_done(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        kept = (await changed(hands))[FIRST]
        house.first.held["settings"].pop("lamp")
        done = await restore_unit(hands, FIRST, kept, by="A")
        assert [(item.key, item.reason) for item in done.impossible] == [
            ("setting.indicator_light", "the unit doesn't hold such a setting now")
        ]
        assert house.first.held["settings"] == {"hold": 30, "reach": 4000}


async def test_what_still_differs_after_the_read_back_is_told(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        kept = (await changed(hands))[FIRST]

        async def refuses(_name, _value):
            return web.json_response({"title": "locked"}, status=409)

        house.first.at_put = refuses
        done = await restore_unit(hands, FIRST, kept, by="A")
        assert {change.key for change in done.left} >= {HOLD, REACH, "areas.2.outline"}
        assert {result.state for result in done.results} == {StepState.NOT_DONE}


async def test_a_unit_that_dies_on_the_way_leaves_unknown_what_still_differs(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        kept = (await changed(hands))[FIRST]

        async def dies(_name, _value):
            house.first.dead = True
            return web.Response(status=500)

        house.first.at_put = dies
        done = await restore_unit(hands, FIRST, kept, by="A")
        assert done.left is None
        assert done.results[0].state is StepState.IN_DOUBT
        with pytest.raises(LinkError):
            await restore_unit(hands, FIRST, kept, by="A")


async def test_a_dry_run_of_a_restoring_writes_nothing(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        kept = (await changed(hands))[PLATE]
        before, sent = house.state(), len(house.pieces)
        rehearsed = await rehearse_restoring(hands, PLATE, kept)
        assert [one.part for one in rehearsed.rehearsals] == ["areas", "settings"]
        assert sum(len(one.sends) for one in rehearsed.rehearsals) == 6
        assert (house.state(), len(house.pieces)) == (before, sent)

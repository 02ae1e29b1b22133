"""Two real programs at once: on one inventory one writes; on one unit nobody is overwritten."""

import asyncio
import os

from fleet.inventory.inventory import open_inventory
from fleet.model.journal import StepState
from tests.faults.applied_house import HOLD, site
from tests.faults.walked_units import FIRST
from tests.inventories import CountingClock


async def held_up(house, arrived, go_on):
    """Hold the first PUT of the first unit up until it may go on."""

    async def at_put(_name, _value):
        house.first.at_put = None
        arrived.set()
        await go_on.wait()

    house.first.at_put = at_put


async def test_the_second_program_on_an_inventory_says_who_writes_and_sends_nothing(tmp_path):
    arrived, go_on = asyncio.Event(), asyncio.Event()
    async with site(tmp_path) as at:
        at.data()
        await held_up(at.house, arrived, go_on)
        first = asyncio.ensure_future(at.walkdown("apply", "U1", "--yes", *at.wholes))
        await arrived.wait()
        second = await at.walkdown("apply", "U1", "--yes", "--by", "B", *at.wholes)
        go_on.set()
        done = await first
    assert (second.code, second.out) == (3, "")
    assert "nothing can be written: it is held by process" in second.err
    assert "No unit was spoken to" in second.err
    assert f"process {os.getpid()}," not in second.err
    assert done.code == 0
    assert [name for name, _, _ in at.house.first.puts] == ["settings"]
    with open_inventory(at.data(), CountingClock()) as inventory:
        assert inventory.first_broken_row() is None
        assert sum(row.what == "step-intended" for row in inventory.journal()) == 1


async def test_two_inventories_on_one_unit_the_later_write_is_refused_by_the_unit(tmp_path):
    overtaken = asyncio.Event()
    async with site(tmp_path) as at:
        for name, hold_s in (("ours", 90), ("theirs", 91)):
            with open_inventory(at.data(name), CountingClock()) as inventory:
                inventory.save_planned_item(FIRST, HOLD, hold_s, why="test", by="A")

        async def the_first_comes(_name, _value):
            at.house.first.at_put = second_comes
            await overtaken.wait()

        async def second_comes(_name, _value):
            overtaken.set()

        at.house.first.at_put = the_first_comes
        words = ("apply", "U1", "--yes", *at.wholes)
        both = await asyncio.gather(
            *(at.walkdown(*words, data=name) for name in ("ours", "theirs"))
        )
        refused, done = sorted(both, key=lambda one: one.code, reverse=True)
        assert (refused.code, done.code) == (3, 0)
        held_s = at.house.first.held["settings"]["hold"]
        assert "somebody else changed it since it was read" in refused.out
        assert f"Nothing of ours was written. It holds now: {HOLD} {held_s}" in refused.out
        assert f"done: read back: {HOLD} {held_s}" in done.out
        assert len(at.house.first.puts) == 1
        states = []
        for name in ("ours", "theirs"):
            with open_inventory(at.data(name), CountingClock()) as inventory:
                assert inventory.open_steps() == ()
                rows = inventory.journal_of("step-concluded")
                states += [row.detail["state"] for row in rows]
    assert sorted(states) == [StepState.DONE, StepState.NOT_DONE]

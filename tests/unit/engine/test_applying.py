"""A step over real sockets: what is read back decides, and the journal says it item by item."""

import asyncio
from dataclasses import replace

import pytest
from aiohttp import web

from fleet.engine.apply_run import Hands, apply_changes, rehearse_changes
from fleet.engine.applying import StepResult, apply_step, settle_step
from fleet.engine.settling import settle_all
from fleet.model.errors import LinkError
from fleet.model.journal import Change, StepState
from tests.faults.walked_apply import PAUSES_S, WANTED, changes_of, prepare, working
from tests.faults.walked_units import FIRST, SECOND, House, served
from tests.peers.scattered_server import PLATE
from tests.unit.engine.working_house import HOLD, REACH, applied, at_work, step_of


def last_row(hands):
    return hands.inventory.journal()[-1]


async def test_a_step_is_written_once_over_what_was_read_and_read_back(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        result = await applied(hands, step_of(hands))
        assert result.state is StepState.DONE
        assert result.said == f"read back: {HOLD} 45, {REACH} 5000"
        assert [name for name, _, _ in house.first.puts] == ["settings"]
        assert house.first.held["settings"] == {"hold": 45, "reach": 5000, "lamp": True}
        assert last_row(hands).detail["items"] == {
            HOLD: {"state": "done", "asked": 45, "found": 45},
            REACH: {"state": "done", "asked": 5000, "found": 5000},
        }


async def test_who_and_why_stand_in_the_intent(tmp_path):
    async with at_work(tmp_path) as (_, hands):
        await apply_changes(hands, changes_of(hands), by="A. Fitter", why="asked for")
        intents = [row for row in hands.inventory.journal() if row.what == "step-intended"]
        assert {(row.detail["by"], row.detail["why"]) for row in intents} == {
            ("A. Fitter", "asked for")
        }
        assert last_row(hands).detail["states"] == {"done": 5}


async def test_what_stands_already_is_not_written_again(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        step = step_of(hands)
        await applied(hands, step)
        again = await applied(hands, step)
        assert again.state is StepState.DONE
        assert "nothing was sent" in again.said
        assert len(house.first.puts) == 1


async def test_what_somebody_changed_since_the_review_is_not_written_over(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        house.first.held["settings"] = {"hold": 99, "reach": 4000, "lamp": True}
        result = await applied(hands, step_of(hands))
        assert result.state is StepState.NOT_DONE
        assert f"somebody changed {HOLD} since it was reviewed" in result.said
        assert house.first.puts == []
        assert last_row(hands).what == "read"


async def test_412_is_told_as_anothers_change_and_nothing_of_ours_is_written(tmp_path):
    async with at_work(tmp_path) as (house, hands):

        async def another_is_quicker(name, _value):
            house.first.held[name] = {"hold": 99, "reach": 4000, "lamp": True}

        house.first.at_put = another_is_quicker
        result = await applied(hands, step_of(hands))
        assert result.state is StepState.NOT_DONE
        assert "somebody else changed it since it was read" in result.said
        assert "Nothing of ours was written" in result.said
        assert f"It holds now: {HOLD} 99, {REACH} 4000" in result.said
        assert house.first.held["settings"]["hold"] == 99
        assert hands.inventory.unfinished_steps() == ()


@pytest.mark.parametrize("status", [500, 503, 202, 409])
async def test_whatever_it_answers_after_it_was_done_it_is_done(tmp_path, status):
    async with at_work(tmp_path) as (house, hands):

        async def done_all_the_same(name, value):
            house.first.take(name, value)
            return web.json_response({"title": "odd"}, status=status)

        house.first.at_put = done_all_the_same
        result = await applied(hands, step_of(hands))
        assert result.state is StepState.DONE


@pytest.mark.parametrize("status", [500, 202, 409])
async def test_whatever_it_answers_what_is_read_back_as_before_is_not_done(tmp_path, status):
    async with at_work(tmp_path) as (house, hands):

        async def not_done(_name, _value):
            return web.json_response({"title": "odd"}, status=status)

        house.first.at_put = not_done
        result = await applied(hands, step_of(hands))
        assert result.state is StepState.NOT_DONE
        assert f"read back as before: {HOLD} 30" in result.said


async def test_a_value_that_comes_after_a_500_is_waited_for(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        loop = asyncio.get_running_loop()

        async def later(name, value):
            loop.call_later(0.1, house.first.take, name, value)
            return web.json_response({"title": "busy"}, status=500)

        house.first.at_put = later
        link = hands.link_to(FIRST)
        pauses_s = (0.0, 0.2, 0.2, 0.2)
        result = await apply_step(hands.inventory, link, step_of(hands), pauses_s=pauses_s)
        assert result.state is StepState.DONE


async def test_a_unit_that_dies_stays_in_doubt_is_written_to_by_nobody_and_settles(tmp_path):
    async with at_work(tmp_path) as (house, hands):

        async def dies(name, value):
            house.first.take(name, value)
            house.first.dead = True
            return web.Response(status=500)

        house.first.at_put = dies
        results = await apply_changes(replace(hands, pauses_s=(0.0,)), changes_of(hands), by="A")
        by_part = {(result.label, result.part): result for result in results}
        assert by_part[FIRST, "settings"].state is StepState.IN_DOUBT
        assert "is still in doubt" in by_part[FIRST, "areas"].said
        others = [result.state for result in results if result.label != FIRST]
        assert set(others) == {StepState.DONE}
        house.first.dead, house.first.at_put = False, None
        (settled,) = await settle_all(hands.inventory, hands.link_to)
        assert settled.state is StepState.DONE
        assert (await applied(hands, step_of(hands, FIRST, "areas"))).state is StepState.DONE


async def test_the_doubt_is_written_down_once_however_often_it_is_tried(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        key = hands.inventory.intend(step_of(hands))
        (doubtful,) = hands.inventory.open_steps()
        house.first.dead = True
        for _ in range(3):
            (doubtful,) = hands.inventory.open_steps()
            result = await settle_step(hands.inventory, hands.link_to(FIRST), doubtful)
            assert (result.state, result.key) == (StepState.IN_DOUBT, key)
        rows = [row for row in hands.inventory.journal() if row.what == "step-concluded"]
        assert len(rows) == 1


async def test_a_unit_that_was_not_met_is_told_and_holds_up_nobody(tmp_path):
    async with at_work(tmp_path) as (_, hands):

        def link_to(serial):
            if serial == FIRST:
                raise LinkError("it hasn't answered at this visit.", subject=serial)
            return hands.link_to(serial)

        changes = changes_of(hands)
        few = Hands(hands.inventory, link_to, hands.read_again, PAUSES_S)
        results = await apply_changes(few, changes, by="A")
        states = {(r.label == FIRST, r.state) for r in results}
        assert states == {(True, StepState.NOT_DONE), (False, StepState.DONE)}
        assert "hasn't answered" in (await rehearse_changes(few, changes))[0].said


async def test_a_stop_is_heeded_before_the_next_step(tmp_path):
    async with at_work(tmp_path) as (_, hands):
        seen = []

        def once(step, share):
            seen.append((step.label, share))
            return len(seen) < 2

        assert len(await apply_changes(hands, changes_of(hands), by="A", before_each=once)) == 1
        assert [share for _, share in seen] == [0.0, 0.2]


async def test_a_value_that_the_description_rules_out_never_gets_into_the_journal(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        step = replace(step_of(hands), items={HOLD: 9000}, before={HOLD: 30})
        result = await applied(hands, step)
        assert result.state is StepState.NOT_DONE
        assert "hold time 9000 s is above the unit's 3600 s" in result.said
        assert house.first.puts == []
        assert last_row(hands).what == "read"


async def test_a_value_that_a_part_rules_out_is_concluded_as_not_done(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        step = replace(step_of(hands, PLATE), items={REACH: 9000}, before={REACH: 4500})
        result = await applied(hands, step)
        assert result.state is StepState.NOT_DONE
        assert "above the unit's 600 cm" in result.said
        assert house.pieces == []
        assert hands.inventory.open_steps() == ()


async def test_a_dry_run_says_what_would_go_out_and_changes_nothing(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        before, rows = house.state(), len(hands.inventory.journal())
        rehearsals = await rehearse_changes(hands, changes_of(hands))
        assert all(rehearsal.could for rehearsal in rehearsals)
        sends = {(one.label, one.part): one.sends for one in rehearsals}
        assert sends[SECOND, "settings"] == (
            f"settings, whole, only over {house.second.tag('settings')}",
        )
        assert sends[PLATE, "settings"] == ("reach: 450 → 500", "linger: 30 → 60")
        assert house.state() == before
        assert len(hands.inventory.journal()) == rows
        await apply_changes(hands, changes_of(hands), by="A")
        sent = [f"{name}: {old} → {new}" for name, old, new in house.pieces]
        assert sent == [*sends[PLATE, "settings"], *sends[PLATE, "areas"]]


async def test_a_dry_run_finds_what_a_write_would_be_refused_for(tmp_path):
    async with at_work(tmp_path) as (house, hands):
        house.second.held["settings"] = {"hold": 99, "reach": 4000, "lamp": True}
        far = [Change(PLATE, PLATE, REACH, None, 4500, 9000, "wanted")]
        hold = [change for change in changes_of(hands) if change.serial == SECOND]
        said = [one.said for one in await rehearse_changes(hands, [*far, *hold])]
        assert "above the unit's 600 cm" in said[0]
        assert "somebody changed" in said[1]
        hands.inventory.intend(step_of(hands, SECOND))
        (doubt,) = await rehearse_changes(hands, hold)
        assert "still in doubt" in doubt.said


async def test_a_unit_that_wants_if_match_and_gives_no_tag_is_not_written_to(tmp_path, monkeypatch):
    async with at_work(tmp_path) as (house, hands):
        monkeypatch.setattr(type(house.first), "tag", lambda _self, _name: "W/weak")
        (rehearsal,) = await rehearse_changes(hands, [changes_of(hands)[0]])
        assert "gave none that can be sent back" in rehearsal.said
        result = await applied(hands, step_of(hands))
        assert "gave none that can be sent back" in result.said
        assert house.first.puts == []


async def test_two_inventories_on_one_unit_the_later_write_is_refused_and_said(tmp_path):
    house = House()
    async with (
        asyncio.timeout(60),
        served(house) as urls,
        working(tmp_path / "ours", urls) as ours,
        working(tmp_path / "theirs", urls) as theirs,
    ):
        await prepare(ours)
        await prepare(theirs)
        mine = step_of(ours)
        other = replace(mine, items={HOLD: 50})
        others: list[StepResult] = []

        async def they_write_first(_name, _value):
            house.first.at_put = None
            others.append(await applied(theirs, other))

        house.first.at_put = they_write_first
        result = await applied(ours, mine)
        assert [one.state for one in others] == [StepState.DONE]
        assert result.state is StepState.NOT_DONE
        assert "somebody else changed it since it was read" in result.said
        assert house.first.held["settings"] == {"hold": 50, "reach": 4000, "lamp": True}
        assert len(house.first.puts) == 1


def test_what_is_wanted_covers_three_units_and_both_parts():
    assert {serial: {key.split(".")[0] for key in items} for serial, items in WANTED.items()} == {
        FIRST: {"setting", "areas"},
        SECOND: {"setting"},
        PLATE: {"setting", "areas"},
    }

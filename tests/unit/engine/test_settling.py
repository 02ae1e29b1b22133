"""Steps that are partly done or in doubt: known, resumed, rolled back, let be, settled by reading."""

import pytest

from fleet.engine.apply_run import apply_changes
from fleet.engine.settling import Remedy, let_be, put_right, remaining, settle_all
from fleet.model.errors import LinkError, PlanError, UnitError
from fleet.model.journal import StepState, WriteStep
from tests.faults.walked_apply import PAUSES_S, changes_of
from tests.faults.walked_units import FIRST
from tests.peers.scattered_server import PLATE
from tests.unit.engine.working_house import HOLD, REACH, applied, at_work, step_of


async def partly(house, hands, monkeypatch, part="areas", after=2):
    """Apply a part of the scattered unit that is cut off after some writes; return the step."""
    with monkeypatch.context() as patched:
        patched.setattr(type(house.scattered), "is_sound", lambda _, *put: refuse(*put))
        refuse = _refusing(house, after)
        result = await applied(hands, step_of(hands, PLATE, part))
    assert result.state is StepState.PARTLY
    (unfinished,) = hands.inventory.unfinished_steps()
    return result, unfinished


def _refusing(house, after):
    def is_sound(_name, _value):
        return len(house.pieces) < after

    return is_sound


def edges(house):
    return [house.scattered.values[f"patch1{edge}"] for edge in ("left", "right", "near", "far")]


async def test_what_stands_is_said_item_by_item_and_by_the_units_own_parts(tmp_path, monkeypatch):
    async with at_work(tmp_path) as (house, hands):
        result, unfinished = await partly(house, hands, monkeypatch, "settings", after=1)
        states = {item.key: (item.state, item.found) for item in result.items}
        assert states == {REACH: (StepState.DONE, 5000), HOLD: (StepState.NOT_DONE, 30)}
        assert f"stands as asked: {REACH} 5000; stands as before: {HOLD} 30" in result.said
        detail = hands.inventory.journal()[-1].detail
        assert detail["parts"] == {"written": ["reach"], "unwritten": ["linger"], "doubtful": []}
        assert detail["items"][HOLD] == {"state": "not done", "asked": 60, "found": 30}
        assert (unfinished.key, unfinished.state) == (result.key, StepState.PARTLY)
        assert hands.inventory.open_steps() == ()


async def test_an_outline_of_which_two_edges_were_moved_is_neither_and_is_resumed(
    tmp_path, monkeypatch
):
    async with at_work(tmp_path) as (house, hands):
        result, unfinished = await partly(house, hands, monkeypatch)
        assert "stands neither as before nor as asked: areas.1.outline" in result.said
        done = await put_right(
            hands.inventory, hands.link_to(PLATE), unfinished, Remedy.RESUME, by="A",
            pauses_s=PAUSES_S,
        )  # fmt: skip
        assert done.state is StepState.DONE
        assert edges(house) == [150, 250, 350, 450]
        assert len(house.pieces) == 4
        assert house.needless() == []
        assert hands.inventory.unfinished_steps() == ()
        intent = [r for r in hands.inventory.journal() if r.what == "step-intended"][-1].detail
        assert (intent["by"], intent["why"]) == ("A", f"resume {unfinished.key}")


async def test_rolled_back_it_stands_as_before(tmp_path, monkeypatch):
    async with at_work(tmp_path) as (house, hands):
        _, unfinished = await partly(house, hands, monkeypatch)
        link = hands.link_to(PLATE)
        back = await put_right(
            hands.inventory, link, unfinished, Remedy.ROLL_BACK, by="A", pauses_s=PAUSES_S
        )
        assert back.state is StepState.DONE
        assert edges(house) == [-100, 100, 50, 300]
        assert house.needless() == []
        assert hands.inventory.unfinished_steps() == ()


async def test_a_remedy_that_is_cut_off_as_well_is_known_and_takes_the_steps_place(
    tmp_path, monkeypatch
):
    async with at_work(tmp_path) as (house, hands):
        _, unfinished = await partly(house, hands, monkeypatch, after=1)
        monkeypatch.setattr(
            type(house.scattered), "is_sound", lambda _, *put: _refusing(house, 2)(*put)
        )
        link = hands.link_to(PLATE)
        again = await put_right(
            hands.inventory, link, unfinished, Remedy.RESUME, by="A", pauses_s=PAUSES_S
        )
        assert again.state is StepState.PARTLY
        assert [one.key for one in hands.inventory.unfinished_steps()] == [again.key]


async def test_a_remedy_that_was_refused_leaves_the_step_unfinished(tmp_path, monkeypatch):
    async with at_work(tmp_path) as (house, hands):
        _, unfinished = await partly(house, hands, monkeypatch)
        monkeypatch.setattr(
            type(house.scattered), "is_sound", lambda _, *put: _refusing(house, 2)(*put)
        )
        refused = await put_right(
            hands.inventory, hands.link_to(PLATE), unfinished, Remedy.RESUME, by="A",
            pauses_s=PAUSES_S,
        )  # fmt: skip
        assert refused.state is StepState.NOT_DONE
        assert hands.inventory.unfinished_steps() == (unfinished,)


async def test_what_somebody_finished_by_hand_is_let_be_and_nothing_is_sent(tmp_path, monkeypatch):
    async with at_work(tmp_path) as (house, hands):
        _, unfinished = await partly(house, hands, monkeypatch, "settings", after=1)
        house.scattered.values["linger"] = 60
        sent = len(house.pieces)
        done = await put_right(
            hands.inventory, hands.link_to(PLATE), unfinished, Remedy.RESUME, by="A"
        )
        assert (done.state, len(house.pieces)) == (StepState.DONE, sent)
        assert hands.inventory.unfinished_steps() == ()


async def test_a_step_is_let_be_with_a_name_and_a_reason(tmp_path, monkeypatch):
    async with at_work(tmp_path) as (house, hands):
        _, unfinished = await partly(house, hands, monkeypatch)
        with pytest.raises(PlanError, match="a reason has to be said"):
            let_be(hands.inventory, unfinished, by="A", reason=" ")
        with pytest.raises(PlanError, match="who chose it has to be said"):
            await put_right(hands.inventory, hands.link_to(PLATE), unfinished, Remedy.RESUME, by="")
        let_be(hands.inventory, unfinished, by="A", reason="it is exchanged tomorrow")
        assert hands.inventory.unfinished_steps() == ()
        assert hands.inventory.journal()[-1].detail == {
            "step": unfinished.key,
            "by": "A",
            "why": "it is exchanged tomorrow",
        }


async def test_a_unit_in_doubt_is_settled_before_a_remedy(tmp_path, monkeypatch):
    async with at_work(tmp_path) as (house, hands):
        _, unfinished = await partly(house, hands, monkeypatch)
        hands.inventory.intend(step_of(hands, PLATE, "settings"))
        with pytest.raises(UnitError, match="still in doubt"):
            await put_right(
                hands.inventory, hands.link_to(PLATE), unfinished, Remedy.RESUME, by="A"
            )


async def test_a_unit_that_does_not_answer_stays_in_doubt_and_blocks_no_other(tmp_path):
    async with at_work(tmp_path) as (_, hands):
        for serial in (FIRST, PLATE):
            hands.inventory.intend(step_of(hands, serial))

        def link_to(serial):
            if serial == FIRST:
                raise LinkError("it hasn't answered at this visit.", subject=serial)
            return hands.link_to(serial)

        results = {one.label: one for one in await settle_all(hands.inventory, link_to)}
        assert results[FIRST].state is StepState.IN_DOUBT
        assert results[PLATE].state is StepState.NOT_DONE
        assert [one.step.serial for one in hands.inventory.open_steps()] == [FIRST]
        written = await apply_changes(
            hands, [change for change in changes_of(hands) if change.serial == PLATE], by="A"
        )
        assert {one.state for one in written} == {StepState.DONE}


def test_what_remains_is_worked_out_from_what_is_found():
    step = WriteStep("S", "U", "", "settings", {"setting.a": 2, "setting.b": 3}, {"setting.a": 1})
    found = {"setting.a": 2, "setting.b": 9}
    resumed = remaining(step, Remedy.RESUME, found)
    assert (resumed.items, resumed.before) == ({"setting.b": 3}, {"setting.b": 9})
    back = remaining(step, Remedy.ROLL_BACK, found)
    assert (back.items, back.before) == ({"setting.a": 1}, {"setting.a": 2})
    assert remaining(step, Remedy.RESUME, {"setting.a": 2, "setting.b": 3}).items == {}

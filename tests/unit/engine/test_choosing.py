from datetime import timedelta

import pytest

from fleet.engine.choosing import choose, standing_choices
from fleet.engine.house_state import build_house_state
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.model.findings import Outcome
from fleet.model.geometry import Pose
from fleet.model.sheets import Choice, Standing, Take
from fleet.model.templates import (
    AddedItem,
    ChecklistRule,
    LeftOut,
    Level,
    SettingRule,
    Template,
)
from fleet.trials.lap_evidence import LapEvidence, Mount
from tests.inventories import NOON, CountingClock, reading, small_plan

HOLD = "setting.hold_time_s"
WORDS = {"by": "A. N.", "why": "agreed"}
FOUND = {"module.type": "tracking", HOLD: 30, "setting.indicator_light": False}
WALKED = Pose(700, 20, 90_000, upside_down=False)


@pytest.fixture
def inventory(tmp_path):
    """The small site; its unit U1 was left with a hold time of 20 s and now has 30 s."""
    with open_inventory(tmp_path, CountingClock()) as opened:
        opened.add_site(small_plan())
        opened.save_reading(reading(sheet=FOUND))
        yield opened


def state(inventory, lap=None):
    return build_house_state(inventory, lap or LapEvidence(), {}, NOON)


def standing_of(inventory, key=HOLD):
    return {c.key: c.standing for c in state(inventory).changes if c.serial == "S-1"}.get(key)


def choice(take, value=None, **words):
    return Choice(take, **(WORDS | words), value=value)


def made(inventory, take, value=None, key=HOLD, lap=None):
    return choose(inventory, state(inventory, lap).units["S-1"], key, choice(take, value))


def test_a_change_on_site_waits_until_somebody_chooses(inventory):
    assert standing_of(inventory) is Standing.CHANGED_ON_SITE


@pytest.mark.parametrize(("take", "value", "planned"), [("found", None, 30), ("typed", 25, 25)])
def test_keeping_what_was_found_or_typing_a_value_changes_the_plan(inventory, take, value, planned):
    assert made(inventory, Take(take), value) == planned
    unit = state(inventory).units["S-1"]
    assert unit.planned[HOLD] == planned
    said = "unit U1, decided by A. N. because agreed"
    assert unit.planned_from[HOLD].origin.words == said
    assert standing_of(inventory) is (None if take == "found" else Standing.TO_APPLY)


def test_taking_the_plans_value_makes_it_an_item_to_apply_until_the_unit_changes_again(inventory):
    assert made(inventory, Take.PLANNED) == 20
    assert standing_of(inventory) is Standing.TO_APPLY
    later = reading(read_at=NOON + timedelta(hours=1), sheet=FOUND | {HOLD: 99})
    inventory.save_reading(later)
    assert standing_of(inventory) is Standing.CHANGED_ON_SITE


def test_a_choice_is_journaled_with_its_reason_and_the_values_it_was_made_on(inventory):
    made(inventory, Take.TYPED, 25)
    (row,) = inventory.journal_of("decided")
    assert row.subject == "S-1"
    assert row.detail == {
        "item": HOLD, "take": "typed", "value": 25, "planned": 20, "found": 30, "as_left": 20,
        "by": "A. N.", "why": "agreed",
    }  # fmt: skip


def test_an_unfit_choice_is_refused_and_not_journaled(inventory):
    unit = state(inventory).units["S-1"]
    for key, unfit in [
        (HOLD, choice(Take.FOUND, why="")),
        ("setting.none", choice(Take.FOUND)),
        ("mount.x_mm", choice(Take.FOUND)),
        ("mount.x_mm", choice(Take.TYPED, "7")),
    ]:
        with pytest.raises(PlanError):
            choose(inventory, unit, key, unfit)
    assert inventory.journal_of("decided") == ()
    assert inventory.plan() == small_plan()


def test_a_mount_as_walked_is_kept_by_moving_the_line_of_the_schedule(inventory):
    lap = LapEvidence(mounts={"S-1": Mount(6, 400, 900, 100, 200, WALKED)})
    assert state(inventory, lap).units["S-1"].mount == WALKED
    made(inventory, Take.FOUND, key="mount.x_mm", lap=lap)
    made(inventory, Take.FOUND, key="mount.upside_down", lap=lap)
    made(inventory, Take.PLANNED, key="mount.y_mm", lap=lap)
    made(inventory, Take.TYPED, 1900, key="mount.height_mm", lap=lap)
    line = inventory.plan().units[0]
    assert line.pose == Pose(700, 20, 90_000, upside_down=False, height_mm=1900)
    assert line.areas == small_plan().units[0].areas
    assert inventory.planned_overrides() == {}


def test_nothing_stands_chosen_where_nobody_chose(inventory):
    assert standing_choices(inventory, state(inventory).units.values()) == {}


def test_a_template_plans_for_units_and_changes_the_checklist(inventory):
    before = state(inventory)
    rule = ChecklistRule(
        (AddedItem("fan-tried", "Fan tried.", "tick"),), (LeftOut("soak", "too short a visit"),)
    )
    template = Template(Level.ROOM_KIND, "bedroom", (SettingRule({"hold_time_s": 60}),), (rule,))
    inventory.save_template(template, **WORDS)
    after = state(inventory)
    assert after.units["U2"].planned[HOLD] == 60
    assert after.units["S-1"].planned == before.units["S-1"].planned
    assert after.rooms["hall"] == before.rooms["hall"]
    items = {item.key: item.outcome for item in after.rooms["loft"].items}
    assert items["fan-tried"] is Outcome.NOT_TESTED
    assert "soak" not in items
    inventory.drop_template(Level.ROOM_KIND, "bedroom", **WORDS)
    assert state(inventory) == before

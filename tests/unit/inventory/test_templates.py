from datetime import timedelta

import pytest

from fleet.model.errors import PlanError
from fleet.model.house import ModuleType
from fleet.model.templates import (
    AddedItem,
    ChecklistRule,
    Decision,
    LeftOut,
    Level,
    SettingRule,
    Template,
)
from tests.inventories import NOON, small_plan

WORDS = {"why": "agreed with the client", "by": "A. N."}
SITE = Template(Level.SITE, settings=(SettingRule({"indicator_light": False}),))
BEDROOMS = Template(
    Level.ROOM_KIND,
    "bedroom",
    (SettingRule({"hold_time_s": 60, "mode": "näıve"}, ModuleType.STATIC, "they read"),),
    (ChecklistRule((AddedItem("fan-tried", "Fan.", "tick"),), (LeftOut("soak", "short"),)),),
    "invented",
)
LOFT = Template(Level.ROOM, "loft", (SettingRule({"hold_time_s": 30}),))


def kept(inventory):
    return [one.template for one in inventory.templates()]


def test_a_site_has_no_templates_to_begin_with(inventory):
    assert inventory.templates() == ()


def test_templates_are_kept_from_the_farthest_level_on(inventory, reopened):
    for template in (LOFT, BEDROOMS, SITE):
        inventory.save_template(template, **WORDS)
    assert kept(reopened()) == [SITE, BEDROOMS, LOFT]


def test_a_kept_template_says_who_set_it_when_and_why(inventory):
    inventory.save_template(SITE, **WORDS)
    (one,) = inventory.templates()
    assert (one.by, one.why) == ("A. N.", "agreed with the client")
    assert one.at == NOON + timedelta(seconds=one.at.second)


def test_a_template_replaces_the_one_of_its_level_and_subject_which_the_journal_keeps(inventory):
    other = Template(Level.SITE, settings=(SettingRule({"indicator_light": True}),))
    inventory.save_template(SITE, **WORDS)
    inventory.save_template(other, why="they like it", by="B. N.")
    assert kept(inventory) == [other]
    rows = inventory.journal_of("template-set")
    assert [row.subject for row in rows] == ["site", "site"]
    assert [row.detail["by"] for row in rows] == ["A. N.", "B. N."]
    assert rows[0].detail["template"]["settings"][0]["values"] == {"indicator_light": False}
    assert inventory.first_broken_row() is None


def test_a_template_is_taken_away_with_who_and_why(inventory):
    inventory.save_template(BEDROOMS, **WORDS)
    inventory.drop_template(Level.ROOM_KIND, "bedroom", **WORDS)
    assert kept(inventory) == []
    (row,) = inventory.journal_of("template-dropped")
    assert (row.subject, row.detail["why"]) == ("room kind bedroom", "agreed with the client")
    assert row.detail["template"]["note"] == "invented"


def test_what_is_not_there_cannot_be_taken_away(inventory):
    with pytest.raises(PlanError, match="no such template"):
        inventory.drop_template(Level.ROOM, "loft", **WORDS)


def test_a_template_for_a_room_that_is_not_there_is_refused(inventory):
    with pytest.raises(PlanError, match="hall, loft"):
        inventory.save_template(Template(Level.ROOM, "attic"), **WORDS)
    assert inventory.journal_of("template-set") == ()


@pytest.mark.parametrize("words", [{"why": " ", "by": "A. N."}, {"why": "because", "by": ""}])
def test_who_and_why_have_to_be_said(inventory, words):
    inventory.save_template(LOFT, **WORDS)
    with pytest.raises(PlanError, match="has to be said"):
        inventory.save_template(SITE, **words)
    with pytest.raises(PlanError, match="has to be said"):
        inventory.drop_template(Level.ROOM, "loft", **words)
    assert kept(inventory) == [LOFT]


def test_each_site_has_templates_of_its_own(inventory):
    inventory.save_template(SITE, **WORDS)
    inventory.add_site(small_plan("Other Lodge"))
    inventory.choose_site("Other Lodge")
    assert kept(inventory) == []


def test_decisions_are_told_with_who_and_why(inventory):
    inventory.save_planned_item("S-1", "setting.hold_time_s", 45, **WORDS)
    inventory.save_planned_item("S-1", "areas.2.kind", None, **WORDS)
    why = WORDS["why"]
    assert inventory.planned_decisions() == {
        "S-1": {
            "areas.2.kind": Decision(None, "A. N.", why),
            "setting.hold_time_s": Decision(45, "A. N.", why),
        }
    }

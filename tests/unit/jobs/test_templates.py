from dataclasses import replace

import pytest

from fleet.jobs.checklists import Checklist, ChecklistItem
from fleet.jobs.templates import (
    checklist_with,
    complaints_about,
    template_document,
    template_from,
    templates_for,
    values_for,
    with_values,
)
from fleet.model.errors import PlanError
from fleet.model.house import ModuleType
from fleet.model.templates import (
    AddedItem,
    ChecklistRule,
    LeftOut,
    Level,
    SettingRule,
    Template,
)
from tests.unit.jobs.invented import LINE, ROOM

HOLD = "setting.hold_time_s"
TRACKING, STATIC = ModuleType.TRACKING, ModuleType.STATIC
SITE = Template(Level.SITE, settings=(SettingRule({"hold_time_s": 10, "mode": "day"}),))
KIND = Template(
    Level.ROOM_KIND,
    "living",
    (
        SettingRule({"hold_time_s": 22}, TRACKING, "people sit"),
        SettingRule({"hold_time_s": 20}),
        SettingRule({"hold_time_s": 21}, STATIC),
    ),
)
OWN = Template(Level.ROOM, "den", (SettingRule({"hold_time_s": 30}),))
ELSEWHERE = (
    Template(Level.ROOM, "loft", (SettingRule({"hold_time_s": 1}),)),
    Template(Level.ROOM_KIND, "office", (SettingRule({"hold_time_s": 2}),)),
)
LIST = Checklist(
    "living",
    (
        ChecklistItem("soak", "It stays empty.", "auto"),
        ChecklistItem("people-told", "They know.", "tick"),
        ChecklistItem("acceptance", "Accepted.", "signature"),
    ),
)


def keys(checklist):
    return [item.key for item in checklist.items]


def listed(*rules, modules=(TRACKING,), checklist=LIST):
    template = Template(Level.ROOM_KIND, "living", checklist=rules)
    return checklist_with(checklist, ROOM, modules, [template])


def test_without_templates_nothing_is_set_and_the_checklist_is_the_shipped_one():
    assert values_for(LINE, ROOM, ()) == {}
    assert checklist_with(LIST, ROOM, [TRACKING], ()) == LIST


def test_the_nearer_level_wins_and_the_others_are_kept_nearest_first():
    values = values_for(LINE, ROOM, [OWN, *ELSEWHERE, KIND, SITE])
    assert [one.value for one in values[HOLD]] == [30, 22, 20, 10]
    assert [one.origin.words for one in values[HOLD]] == [
        "room den",
        "room kind living, tracking modules",
        "room kind living",
        "site",
    ]
    assert [one.value for one in values["setting.mode"]] == ["day"]


def test_what_is_meant_for_another_module_type_does_not_count():
    static = replace(LINE, module_type=STATIC)
    assert values_for(static, ROOM, [KIND])[HOLD][0].value == 21
    assert (
        values_for(replace(LINE, module_type=ModuleType.VITAL), ROOM, [KIND])[HOLD][0].value == 20
    )


def test_of_two_rules_of_one_kind_the_later_wins():
    twice = Template(
        Level.SITE, settings=(SettingRule({"hold_time_s": 1}), SettingRule({"hold_time_s": 2}))
    )
    assert [one.value for one in values_for(LINE, ROOM, [twice])[HOLD]] == [2, 1]


def test_templates_of_other_rooms_and_of_units_do_not_count():
    unfit = Template(Level.UNIT, "U01", (SettingRule({"hold_time_s": 3}),))
    assert templates_for(ROOM, [*ELSEWHERE, unfit, SITE]) == (SITE,)


def test_an_added_item_stands_before_the_acceptance():
    added = listed(ChecklistRule(add=(AddedItem("fan-tried", "Fan tried.", "tick"),)))
    assert keys(added) == ["soak", "people-told", "fan-tried", "acceptance"]


def test_an_added_item_stands_last_where_there_is_no_acceptance():
    bare = Checklist("living", (ChecklistItem("soak", "x", "auto"),))
    rule = ChecklistRule(add=(AddedItem("fan-tried", "Fan tried.", "photo"),))
    assert keys(listed(rule, checklist=bare)) == ["soak", "fan-tried"]


def test_an_item_that_people_fill_can_be_worded_anew_at_its_place():
    added = listed(ChecklistRule(add=(AddedItem("people-told", "All four know.", "photo"),)))
    assert keys(added) == keys(LIST)
    assert added.items[1] == ChecklistItem("people-told", "All four know.", "photo")


def test_an_item_that_evidence_fills_cannot_become_a_tick():
    added = listed(ChecklistRule(add=(AddedItem("soak", "Looks fine.", "tick"),)))
    assert added == LIST


def test_an_item_is_left_out_but_never_the_acceptance():
    rule = ChecklistRule(leave_out=(LeftOut("soak", "too short"), LeftOut("acceptance", "no")))
    assert keys(listed(rule)) == ["people-told", "acceptance"]


def test_a_nearer_level_adds_again_what_a_farther_one_left_out():
    templates = [
        Template(
            Level.ROOM, "den", checklist=(ChecklistRule(add=(AddedItem("soak", "x", "tick"),)),)
        ),
        Template(Level.SITE, checklist=(ChecklistRule(leave_out=(LeftOut("soak", "short"),)),)),
    ]
    again = checklist_with(LIST, ROOM, [TRACKING], templates)
    assert again.items[1] == LIST.items[0]


@pytest.mark.parametrize(
    ("modules", "added", "left_out"),
    [
        ((TRACKING, TRACKING), True, True),
        ((TRACKING, STATIC), True, False),
        ((STATIC,), False, False),
        ((), False, False),
    ],
)
def test_items_are_added_where_any_unit_has_the_module_and_left_out_where_all_have(
    modules, added, left_out
):
    rule = ChecklistRule(
        (AddedItem("fan-tried", "Fan tried.", "tick"),), (LeftOut("soak", "short"),), TRACKING
    )
    there = keys(listed(rule, modules=modules))
    assert ("fan-tried" in there) == added
    assert ("soak" not in there) == left_out


def test_a_template_goes_into_a_document_and_back():
    rule = ChecklistRule((AddedItem("a", "A.", "tick", "w"),), (LeftOut("b", "w"),), STATIC)
    template = replace(KIND, checklist=(rule,), note="invented")
    assert template_from(template_document(template), subject="x") == template


@pytest.mark.parametrize(
    ("template", "complaint"),
    [
        (replace(SITE, format="walkdown-template/2"), "format"),
        (replace(SITE, subject="den"), "no subject"),
        (replace(OWN, subject=""), "names the room"),
        (replace(KIND, subject="attic"), "no kind of room"),
        (replace(OWN, level=Level.UNIT), "single unit"),
        (replace(SITE, settings=(SettingRule({" ": 1}),)), "no name"),
        (replace(SITE, settings=(SettingRule({"hold_time_s": "30"}),)), "whole number"),
        (replace(SITE, settings=(SettingRule({"hold_time_s": True}),)), "whole number"),
    ],
)
def test_a_template_that_means_nothing_is_refused(template, complaint):
    with pytest.raises(PlanError, match=complaint):
        template_from(template_document(template), subject="x")


@pytest.mark.parametrize(
    ("rule", "complaint"),
    [
        (ChecklistRule((AddedItem("a", "A.", "auto"),)), "not as tick or photo"),
        (ChecklistRule((AddedItem("", "A.", "tick"),)), "no key or no text"),
        (ChecklistRule((AddedItem("a", " ", "tick"),)), "no key or no text"),
        (ChecklistRule((AddedItem("a", "A.", "tick"), AddedItem("a", "B.", "tick"))), "2 times"),
        (ChecklistRule(leave_out=(LeftOut("acceptance", "w"),)), "acceptance"),
        (ChecklistRule(leave_out=(LeftOut("soak", " "),)), "without a reason"),
    ],
)
def test_a_checklist_rule_that_means_nothing_is_told(rule, complaint):
    (told,) = complaints_about(replace(SITE, checklist=(rule,)))
    assert complaint in told


def test_a_garbled_document_is_refused_with_its_place():
    with pytest.raises(PlanError, match=r"\$\.level"):
        template_from({"level": "house"}, subject="x")


def test_values_are_set_anew_changed_and_taken_away():
    empty = Template(Level.ROOM_KIND, "living")
    first = with_values(empty, STATIC, {"hold_time_s": 30, "mode": "day"}, why="sitting")
    second = with_values(first, STATIC, {"hold_time_s": 45}, why="longer")
    third = with_values(second, STATIC, {"mode": None}, why="not needed")
    static = replace(LINE, module_type=STATIC)
    values = values_for(static, ROOM, [second])
    assert [one.value for one in values[HOLD]] == [45]
    assert values[HOLD][0].origin.why == "longer"
    assert values["setting.mode"][0].value == "day"
    assert set(values_for(static, ROOM, [third])) == {HOLD}
    assert with_values(third, STATIC, {"hold_time_s": None}, why="none").settings == ()


def test_setting_values_for_all_leaves_those_for_one_module_alone():
    changed = with_values(KIND, None, {"hold_time_s": 5}, why="short")
    assert [one.value for one in values_for(LINE, ROOM, [changed])[HOLD]] == [22, 5]

from dataclasses import replace

from fleet.jobs.planning import planned_sheet, planned_values, sheet_of, where_from
from fleet.model.house import ModuleType
from fleet.model.templates import Decision, Level, SettingRule, Template
from fleet.model.units import Unit
from tests.unit.jobs.invented import BUILD, LINE, ROOM

HOLD = "setting.hold_time_s"
TEMPLATES = (
    Template(Level.SITE, settings=(SettingRule({"hold_time_s": 10, "indicator_light": False}),)),
    Template(
        Level.ROOM_KIND,
        "living",
        (SettingRule({"hold_time_s": 20}, ModuleType.TRACKING, "people sit"),),
    ),
)
ASKED = Decision(45, "A. N.", "the client asked for it")


def values(line=LINE, decisions=None, templates=TEMPLATES):
    return planned_values(line, (BUILD,), room=ROOM, templates=templates, decisions=decisions)


def test_without_templates_the_sheet_is_the_schedules():
    assert sheet_of(values(templates=())) == planned_sheet(LINE, (BUILD,))


def test_the_schedule_wins_over_templates_and_what_it_passes_over_is_kept():
    planned = values()[HOLD]
    assert (planned.value, planned.origin.words) == (30, "unit U01, its line in the schedule")
    assert [(one.value, one.origin.level) for one in planned.shadowed] == [
        (20, Level.ROOM_KIND),
        (10, Level.SITE),
    ]


def test_a_template_fills_what_the_schedule_leaves_open():
    planned = values(replace(LINE, settings={}))
    assert planned[HOLD].value == 20
    assert planned[HOLD].why == "people sit"
    assert planned[HOLD].origin.words == "room kind living, tracking modules"
    assert planned["setting.indicator_light"].origin.words == "site"


def test_a_persons_decision_wins_over_all():
    planned = values(decisions={HOLD: ASKED})[HOLD]
    assert planned.value == 45
    said = "unit U01, decided by A. N. because the client asked for it"
    assert planned.origin.words == said
    assert [one.value for one in planned.shadowed] == [30, 20, 10]


def test_a_decision_can_take_an_item_out_of_the_plan_and_the_view_still_shows_it():
    planned = values(decisions={HOLD: replace(ASKED, value=None)})
    assert HOLD not in sheet_of(planned)
    assert [one.value for one in planned[HOLD].shadowed] == [30, 20, 10]


def test_a_decision_about_an_item_that_nobody_planned_is_planned():
    planned = values(decisions={"setting.mode": Decision("day", "A. N.", "")})["setting.mode"]
    assert (planned.value, planned.shadowed) == ("day", ())
    assert planned.origin.words == "unit U01, decided by A. N."


def test_build_mount_and_areas_say_where_they_come_from():
    planned = values()
    assert planned["build.sequence"].value == 7
    assert "build.image_digest" not in planned
    assert "approved for R3 with tracking modules" in planned["build.version"].origin.words
    assert planned["mount.heading_mdeg"].value == 0
    assert planned["mount.upside_down"].value is False
    assert planned["areas.sofa.outline"].origin.words == "unit U01, drawn on the plan"


def test_the_digest_of_an_approved_build_is_planned_where_it_is_known():
    known = replace(BUILD, image_digest="ab")
    assert planned_values(LINE, (known,))["build.image_digest"].value == "ab"


def test_the_view_has_a_row_an_item_in_the_order_of_keys():
    planned = values(decisions={HOLD: ASKED})
    rows = where_from(Unit(LINE, sheet_of(planned), planned_from=planned))
    assert [row.key for row in rows] == sorted(planned)
    (row,) = (one for one in rows if one.key == HOLD)
    assert (row.value, row.level, row.why) == (45, Level.UNIT, "the client asked for it")
    assert row.shadowed == (
        (30, "unit U01, its line in the schedule"),
        (20, "room kind living, tracking modules"),
        (10, "site"),
    )
    assert where_from(Unit(LINE, {})) == ()

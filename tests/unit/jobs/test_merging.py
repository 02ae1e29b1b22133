import pytest

from fleet.jobs.comparing import compare
from fleet.jobs.merging import is_open, merge, planned_after, stands_after
from fleet.model.errors import PlanError
from fleet.model.sheets import Choice, Take

HOLD = "setting.hold_time_s"
SOFA = {"areas.sofa.kind": "watch", "areas.sofa.label": "Sofa", "areas.sofa.outline": "0,0 9,0 9,9"}
KEEP = Choice(Take.FOUND, "A. N.", "the client likes it")
BACK = Choice(Take.PLANNED, "A. N.", "it was agreed")


def typed(value):
    return Choice(Take.TYPED, "A. N.", "half way", value)


def test_what_is_to_apply_stands_afterwards_and_nothing_is_open():
    merged = merge({HOLD: 30}, {HOLD: 45}, {HOLD: 45})
    assert (merged.sheet, merged.open) == ({HOLD: 30}, ())


def test_a_change_on_site_stands_meanwhile_and_waits():
    merged = merge({HOLD: 30}, {HOLD: 45}, {HOLD: 30})
    assert merged.sheet == {HOLD: 45}
    assert [item.key for item in merged.open] == [HOLD]


@pytest.mark.parametrize(
    ("choice", "sheet", "planned"),
    [(KEEP, 45, 45), (BACK, 30, 30), (typed(40), 40, 40)],
    ids=["keep found", "take planned", "another value"],
)
@pytest.mark.parametrize("as_left", [30, 60], ids=["changed on site", "conflict"])
def test_a_choice_settles_an_open_item(choice, sheet, planned, as_left):
    merged = merge({HOLD: 30}, {HOLD: 45}, {HOLD: as_left}, {HOLD: choice})
    assert (merged.sheet, merged.planned, merged.open) == ({HOLD: sheet}, {HOLD: planned}, ())


def test_what_nobody_asked_for_stays_as_it_was_found():
    merged = merge({}, {HOLD: 45}, None)
    assert (merged.sheet, merged.planned, merged.open) == ({HOLD: 45}, {}, ())


def test_a_unit_that_was_never_read_gets_its_planned_areas_and_waits_for_the_rest():
    merged = merge({HOLD: 30, **SOFA}, None, None)
    assert merged.sheet == SOFA
    assert [item.key for item in merged.open] == [HOLD]


def test_an_area_that_somebody_took_away_waits():
    merged = merge(SOFA, {}, SOFA)
    assert merged.sheet == {}
    assert {item.key for item in merged.open} == set(SOFA)


def test_keeping_that_an_area_is_gone_takes_it_out_of_the_plan():
    merged = merge(SOFA, {}, SOFA, dict.fromkeys(SOFA, KEEP))
    assert (merged.sheet, merged.planned, merged.open) == ({}, {}, ())


def test_an_area_that_somebody_drew_on_site_goes_where_the_plan_is_taken():
    moved = SOFA | {"areas.sofa.outline": "500,0 9,0 9,9"}
    kept = merge({}, moved, SOFA)
    assert kept.sheet == moved
    assert [item.key for item in kept.open] == ["areas.sofa.outline"]
    assert merge({}, moved, SOFA, dict.fromkeys(SOFA, BACK)).sheet == {}


def test_an_area_that_would_stand_without_its_outline_is_named():
    merged = merge(SOFA, {}, SOFA, {"areas.sofa.label": BACK})
    assert merged.without_outline == ("sofa",)
    assert merge(SOFA, {}, SOFA, dict.fromkeys(SOFA, BACK)).without_outline == ()


def test_a_person_may_choose_about_an_item_that_is_not_open():
    merged = merge({HOLD: 30}, {HOLD: 30}, {HOLD: 30}, {HOLD: typed(25)})
    assert (merged.sheet, merged.planned) == ({HOLD: 25}, {HOLD: 25})


def test_the_module_that_should_be_fitted_follows_the_same_rules():
    merged = merge(
        {"module.type": "tracking"}, {"module.type": "static"}, {"module.type": "tracking"}
    )
    assert merged.sheet == {"module.type": "static"}
    assert [item.key for item in merged.open] == ["module.type"]


def test_an_unreadable_item_that_the_plan_does_not_want_waits_for_nobody():
    (item,) = compare({}, {}, {HOLD: 30})
    assert not is_open(item)
    assert stands_after(item) is None
    assert planned_after(item) is None


@pytest.mark.parametrize(
    ("planned", "found", "choice", "reason"),
    [
        (30, 45, Choice(Take.FOUND, " ", "because"), "who chooses it"),
        (30, 45, Choice(Take.FOUND, "A. N.", ""), "who chooses it"),
        (30, 45, Choice(Take.TYPED, "A. N.", "because"), "a value belongs"),
        (30, 45, Choice(Take.FOUND, "A. N.", "because", 40), "a value belongs"),
        (30, 45, typed("40"), "another kind"),
        (30, 45, typed(True), "another kind"),
        (30, None, BACK, "wasn't read"),
        (30, None, typed(40), "wasn't read"),
        (None, 45, BACK, "the plan says nothing"),
    ],
)
def test_an_unfit_choice_is_refused(planned, found, choice, reason):
    sheets = [{} if value is None else {HOLD: value} for value in (planned, found, 60)]
    with pytest.raises(PlanError, match=reason):
        merge(*sheets, {HOLD: choice})


def test_a_choice_about_an_item_that_no_sheet_has_is_refused():
    with pytest.raises(PlanError, match="no sheet has this item"):
        merge({HOLD: 30}, {HOLD: 45}, None, {"setting.other": KEEP})

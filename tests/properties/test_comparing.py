"""Laws of the one comparison, over any sheets."""

from hypothesis import given
from hypothesis import strategies as st

from fleet.jobs.comparing import compare
from fleet.model.sheets import Standing

KEYS = st.sampled_from(
    ["setting.hold_time_s", "setting.indicator_light", "build.version", "areas.a.outline"]
)
VALUES = st.one_of(
    st.integers(-5, 5), st.booleans(), st.sampled_from(["0,0 9,0 9,9", "40,0 9,0 9,9", "x"])
)
SHEETS = st.dictionaries(KEYS, VALUES)


@given(SHEETS, SHEETS, SHEETS)
def test_every_key_of_any_sheet_is_answered_once_and_nothing_else(planned, found, as_left):
    keys = [item.key for item in compare(planned, found, as_left)]
    assert keys == sorted({*planned, *found, *as_left})


@given(SHEETS)
def test_a_unit_that_stands_as_planned_and_left_is_the_same_throughout(sheet):
    assert {item.standing for item in compare(sheet, sheet, sheet)} <= {Standing.SAME}


@given(SHEETS, SHEETS, SHEETS)
def test_no_value_is_lost_on_the_way(planned, found, as_left):
    for item in compare(planned, found, as_left):
        assert item.planned == planned.get(item.key)
        assert item.found == found.get(item.key)
        assert item.as_left == as_left.get(item.key)


@given(SHEETS, SHEETS, SHEETS)
def test_after_applying_what_is_to_apply_nothing_is_left_to_apply(planned, found, as_left):
    applied = dict(found)
    for item in compare(planned, found, as_left):
        if item.standing is Standing.TO_APPLY and item.planned is not None:
            applied[item.key] = item.planned
    standings = {item.standing for item in compare(planned, applied, as_left)}
    assert Standing.TO_APPLY not in standings


@given(SHEETS, SHEETS, SHEETS)
def test_what_differs_from_what_was_left_is_never_silently_to_apply(planned, found, as_left):
    for item in compare(planned, found, as_left):
        if item.standing is Standing.TO_APPLY and item.as_left is not None:
            same = compare({item.key: item.as_left}, {item.key: item.found or 0}, None)
            assert same[0].standing is Standing.SAME or item.found == item.as_left

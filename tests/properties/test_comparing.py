"""Laws of the one comparison and of merging, over any sheets."""

from hypothesis import given
from hypothesis import strategies as st

from fleet.jobs.comparing import agree, compare
from fleet.jobs.merging import is_open, merge
from fleet.model.sheets import Choice, Standing, Take

SETTINGS = ["setting.hold_time_s", "setting.indicator_light"]
AREAS = ["areas.a.outline", "areas.a.kind", "areas.a.label"]
OTHERS = ["build.version", "hardware.class_id", "mount.x_mm", "mount.heading_mdeg"]
KEYS = st.sampled_from([*SETTINGS, *AREAS, *OTHERS])
VALUES = st.one_of(
    st.integers(-5, 5),
    st.sampled_from([290, 310, 5_000, 355_000, 367_000]),
    st.booleans(),
    st.sampled_from(["0,0 9,0 9,9", "40,0 9,0 9,9", "80,0 9,0 9,9", "x", ""]),
)
SHEETS = st.dictionaries(KEYS, VALUES)
DECIDED = {"by": "A. N.", "why": "because"}

SWAPPED = {
    Standing.SAME: {Standing.SAME},
    Standing.CONFLICT: {Standing.CONFLICT},
    Standing.CHANGED_ON_SITE: {Standing.TO_APPLY},
    Standing.TO_APPLY: {Standing.TO_APPLY, Standing.CHANGED_ON_SITE},
}
"""Standing → what it may become when found and planned, both there, change places."""


def choices_for(open_items, data):
    """Draw a fit choice for each open item."""
    return {item.key: data.draw(st.sampled_from(fit_choices(item))) for item in open_items}


def fit_choices(item):
    fit = [Choice(Take.FOUND, **DECIDED)]
    writable = item.found is not None or not item.key.startswith("setting.")
    if writable and (item.planned is not None or item.key.startswith("areas.")):
        fit.append(Choice(Take.PLANNED, **DECIDED))
    if writable:
        known = [one for one in (item.planned, item.found, item.as_left) if one is not None]
        fit.append(Choice(Take.TYPED, **DECIDED, value=type(known[0])(1)))
    return fit


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


@given(SHEETS, SHEETS, SHEETS, st.randoms())
def test_the_order_of_keys_within_sheets_is_irrelevant(planned, found, as_left, random):
    def shuffled(sheet):
        items = list(sheet.items())
        random.shuffle(items)
        return dict(items)

    mixed = [shuffled(sheet) for sheet in (planned, found, as_left)]
    assert compare(*mixed) == compare(planned, found, as_left)
    assert merge(*mixed) == merge(planned, found, as_left)


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
            assert agree(item.key, item.found, item.as_left)


@given(KEYS, VALUES, VALUES)
def test_agreeing_is_symmetric_and_every_value_agrees_with_itself(key, one, other):
    assert agree(key, one, other) == agree(key, other, one)
    assert agree(key, one, one)


@given(SHEETS, SHEETS, SHEETS)
def test_swapping_found_and_planned_swaps_the_standings_as_stated(planned, found, as_left):
    there = {item.key: item for item in compare(planned, found, as_left)}
    back = {item.key: item for item in compare(found, planned, as_left)}
    for key in set(planned) & set(found):
        one, other = there[key].standing, back[key].standing
        assert other in SWAPPED[one]
        assert one in SWAPPED[other]


@given(SHEETS, SHEETS, SHEETS)
def test_to_apply_survives_a_swap_only_if_never_left_or_within_tolerance(planned, found, as_left):
    for item in compare(planned, found, as_left):
        if item.standing is not Standing.TO_APPLY:
            continue
        swapped = compare({item.key: item.found}, {item.key: item.planned}, as_left)
        (back,) = (one for one in swapped if one.key == item.key)
        stays = item.as_left is None or agree(item.key, item.planned, item.as_left)
        assert (back.standing is Standing.TO_APPLY) == stays


@given(SHEETS, SHEETS, SHEETS)
def test_what_only_the_plan_says_is_unreadable_and_swapped_it_is_the_units_own(
    planned, found, as_left
):
    there = {item.key: item.standing for item in compare(planned, found, as_left)}
    back = {item.key: item.standing for item in compare(found, planned, as_left)}
    for key in set(planned) - set(found):
        assert there[key] is Standing.UNREADABLE
        left = {Standing.SAME, Standing.CHANGED_ON_SITE}
        assert back[key] in (left if key in as_left else {Standing.UNKNOWN})


def test_tolerance_is_no_chain():
    a, b, c = "0,0 9,0 9,9", "40,0 9,0 9,9", "80,0 9,0 9,9"
    key = "areas.a.outline"
    assert agree(key, a, b)
    assert agree(key, b, c)
    assert not agree(key, a, c)
    (item,) = compare({key: a}, {key: c}, {key: b})
    assert item.standing is Standing.TO_APPLY


@given(SHEETS, SHEETS, SHEETS)
def test_nothing_found_disappears_without_a_choice(planned, found, as_left):
    merged = merge(planned, found, as_left)
    assert set(found) <= set(merged.sheet)
    standing = {item.key: item.standing for item in compare(planned, found, as_left)}
    for key, value in found.items():
        if standing[key] is not Standing.TO_APPLY:
            assert merged.sheet[key] == value


@given(SHEETS, SHEETS, SHEETS, st.data())
def test_with_choices_an_item_of_found_is_gone_only_where_its_own_choice_says_so(
    planned, found, as_left, data
):
    choices = choices_for(merge(planned, found, as_left).open, data)
    merged = merge(planned, found, as_left, choices)
    for key in set(found) - set(merged.sheet):
        assert choices[key].take is Take.PLANNED
        assert key not in planned


@given(SHEETS, SHEETS, SHEETS)
def test_without_choices_the_plan_stays_and_what_waits_is_open(planned, found, as_left):
    merged = merge(planned, found, as_left)
    assert merged.planned == planned
    assert merged.open == tuple(i for i in compare(planned, found, as_left) if is_open(i))


@given(SHEETS, SHEETS, SHEETS, st.data())
def test_merging_what_was_merged_changes_nothing(planned, found, as_left, data):
    some = [one for one in merge(planned, found, as_left).open if data.draw(st.booleans())]
    first = merge(planned, found, as_left, choices_for(some, data))
    again = merge(first.planned, first.sheet, as_left)
    assert again.sheet == first.sheet
    assert again.planned == first.planned
    assert [one.key for one in again.open] == [one.key for one in first.open]


@given(SHEETS, SHEETS, SHEETS, st.data())
def test_after_every_choice_an_apply_and_a_sign_off_all_is_the_same(planned, found, as_left, data):
    choices = choices_for(merge(planned, found, as_left).open, data)
    merged = merge(planned, found, as_left, choices)
    assert merged.open == ()
    standings = {i.standing for i in compare(merged.planned, merged.sheet, merged.sheet)}
    assert standings <= {Standing.SAME}


@given(SHEETS, SHEETS, SHEETS, st.data())
def test_after_every_choice_and_an_apply_nothing_waits_and_nothing_is_to_apply(
    planned, found, as_left, data
):
    choices = choices_for(merge(planned, found, as_left).open, data)
    merged = merge(planned, found, as_left, choices)
    for item in compare(merged.planned, merged.sheet, as_left):
        assert item.standing is not Standing.TO_APPLY
        assert not is_open(item)


@given(SHEETS, SHEETS)
def test_a_unit_that_was_never_left_waits_only_for_settings_it_lacks(planned, found):
    for item in merge(planned, found, None).open:
        assert item.standing is Standing.UNREADABLE
        assert not item.key.startswith("areas.")

import pytest

from fleet.jobs.comparing import agree, compare, with_standing
from fleet.model.sheets import Standing

ITEM = "setting.hold_time_s"
OUTLINE = "areas.sofa.outline"


@pytest.mark.parametrize(
    ("planned", "found", "as_left", "standing"),
    [
        (30, None, 30, Standing.UNREADABLE),
        (None, 30, None, Standing.UNKNOWN),
        (30, 30, 120, Standing.SAME),
        (30, 120, 120, Standing.TO_APPLY),
        (30, 120, None, Standing.TO_APPLY),
        (30, 120, 30, Standing.CHANGED_ON_SITE),
        (None, 120, 30, Standing.CHANGED_ON_SITE),
        (None, 30, 30, Standing.SAME),
        (30, 120, 60, Standing.CONFLICT),
    ],
)
def test_an_item_stands_as_its_three_sheets_say(planned, found, as_left, standing):
    def sheet(value):
        return {} if value is None else {ITEM: value}

    (item,) = compare(sheet(planned), sheet(found), sheet(as_left))

    assert item.standing is standing
    assert (item.planned, item.found, item.as_left) == (planned, found, as_left)


def test_coordinates_within_50_mm_are_the_same():
    assert agree(OUTLINE, "0,0 1000,0 1000,1000 0,1000", "50,-50 1000,0 1000,1050 0,1000")
    assert not agree(OUTLINE, "0,0 1000,0 1000,1000 0,1000", "51,0 1000,0 1000,1000 0,1000")


def test_outlines_of_other_length_or_garbled_differ():
    assert not agree(OUTLINE, "0,0 1,0 1,1", "0,0 1,0 1,1 0,1")
    assert not agree(OUTLINE, "0,0 1,0 1,1", "nonsense")


def test_numbers_outside_outlines_have_no_tolerance():
    assert not agree(ITEM, 30, 31)


def test_a_switch_is_not_a_number():
    assert not agree("setting.indicator_light", True, 1)


def test_standings_are_picked_in_the_order_of_keys():
    items = compare({"b": 1, "a": 1, "c": 1}, {"a": 2, "b": 1, "c": 2}, {"a": 2, "b": 1, "c": 1})
    assert [item.key for item in with_standing(items, Standing.TO_APPLY)] == ["a"]
    assert [item.key for item in items] == ["a", "b", "c"]

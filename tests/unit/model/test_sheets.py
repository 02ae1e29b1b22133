import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.model.errors import PlanError
from fleet.model.geometry import Pose
from fleet.model.sheets import (
    Area,
    AreaKind,
    areas_of,
    areas_to_items,
    mount_from_walk,
    mount_of,
    mount_to_items,
    outline_from_text,
    outline_to_text,
)

SQUARE = ((0, 0), (1000, 0), (1000, 1000), (0, 1000))
points = st.tuples(st.integers(-20_000, 20_000), st.integers(-20_000, 20_000))
outlines = st.lists(points, min_size=3, max_size=12).map(tuple)
areas = st.builds(
    Area,
    st.from_regex(r"[a-z0-9-]{1,8}", fullmatch=True),
    st.text(),
    st.sampled_from(AreaKind),
    outlines,
)


def test_an_outline_is_written_as_pairs():
    assert outline_to_text(((-5, 0), (10, 20))) == "-5,0 10,20"


@given(outlines)
def test_a_written_outline_reads_back(outline):
    assert outline_from_text(outline_to_text(outline)) == outline


@pytest.mark.parametrize("text", ["1", "1,2,3", "a,b", "1.5,2", "1,"])
def test_what_is_no_outline_is_refused_in_words(text):
    with pytest.raises(PlanError, match=r"is no outline.*x,y pairs in mm"):
        outline_from_text(text)


def test_an_area_is_three_items_of_a_sheet():
    area = Area("2", "door", AreaKind.DOORWAY, SQUARE)
    assert areas_to_items((area,)) == {
        "areas.2.kind": "doorway",
        "areas.2.label": "door",
        "areas.2.outline": "0,0 1000,0 1000,1000 0,1000",
    }


@given(st.lists(areas, max_size=5, unique_by=lambda area: area.key))
def test_areas_laid_down_are_gathered_in_the_order_of_their_keys(some):
    gathered = areas_of(areas_to_items(tuple(some)))
    assert gathered == tuple(sorted(some, key=lambda area: area.key))


def test_items_that_are_no_areas_are_left_alone():
    assert areas_of({"build.version": "1.4.0", "setting.hold_time_s": 30}) == ()


def test_an_area_that_says_its_outline_only_watches_and_is_called_by_its_key():
    assert areas_of({"areas.7.outline": "0,0 1,0 1,1"}) == (
        Area("7", "7", AreaKind.WATCH, ((0, 0), (1, 0), (1, 1))),
    )


def test_an_area_without_an_outline_has_no_corners():
    assert areas_of({"areas.7.kind": "ignore"}) == (Area("7", "7", AreaKind.IGNORE, ()),)


def test_an_unknown_kind_of_area_is_refused():
    with pytest.raises(PlanError, match="area 7 has the unknown kind 'window'"):
        areas_of({"areas.7.kind": "window", "areas.7.outline": "0,0 1,0 1,1"})


def test_a_mount_is_five_items_of_a_sheet_and_a_walk_shows_four():
    items = mount_to_items(Pose(10, -20, 90_000, upside_down=True, height_mm=1900))
    assert items == {
        "mount.x_mm": 10,
        "mount.y_mm": -20,
        "mount.heading_mdeg": 90_000,
        "mount.height_mm": 1900,
        "mount.upside_down": True,
    }
    shown = mount_from_walk(Pose(10, -20, 90_000, upside_down=True, height_mm=1900))
    assert set(items) - set(shown) == {"mount.height_mm"}


@given(st.builds(Pose, *[st.integers()] * 3, st.booleans(), st.integers()))
def test_a_mount_laid_down_reads_back(pose):
    assert mount_of(mount_to_items(pose)) == pose


@pytest.mark.parametrize(
    ("key", "value"),
    [("mount.x_mm", True), ("mount.height_mm", "2 m"), ("mount.upside_down", 1)],
)
def test_what_is_no_mount_is_refused_in_words(key, value):
    with pytest.raises(PlanError, match=key):
        mount_of(mount_to_items(Pose(0, 0, 0)) | {key: value})


def test_a_mount_without_all_of_its_items_is_refused():
    with pytest.raises(PlanError, match=r"mount\.height_mm"):
        mount_of(mount_from_walk(Pose(0, 0, 0)))

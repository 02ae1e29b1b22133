"""What brings a unit back to a kept sheet, and what can't be brought back, each with its reason."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from fleet.jobs.comparing import agree
from fleet.jobs.restoring import restore_plan
from fleet.model.sheets import Standing
from tests.inventories import reading

NOW = {
    "module.type": "tracking",
    "build.version": "2.0.0",
    "setting.hold_time_s": 30,
    "setting.indicator_light": True,
    "areas.1.kind": "watch",
    "areas.1.label": "Bed",
    "areas.1.outline": "0,0 1000,0 1000,1000 0,1000",
}


def planned(kept, now=NOW, **more):
    changes, impossible = restore_plan(replace(reading(), sheet=now), kept, **more)
    return (
        {change.key: (change.found, change.planned) for change in changes},
        {item.key: item.reason for item in impossible},
    )


def test_what_stands_as_kept_needs_nothing():
    assert planned(NOW) == ({}, {})
    moved = NOW | {"areas.1.outline": "40,40 1040,40 1040,1040 40,1040"}
    assert planned(moved) == ({}, {})


def test_a_setting_and_an_area_are_written_back():
    kept = NOW | {"setting.hold_time_s": 45, "areas.1.outline": "0,0 2000,0 2000,1000 0,1000"}
    changes, impossible = planned(kept)
    assert changes["setting.hold_time_s"] == (30, 45)
    assert changes["areas.1.outline"][1] == "0,0 2000,0 2000,1000 0,1000"
    assert impossible == {}


def test_a_change_is_ready_to_write_and_named_by_label():
    (change,), _ = restore_plan(
        reading(), {**reading().sheet, "setting.hold_time_s": 1}, label="U9"
    )
    assert (change.label, change.serial, change.standing) == ("U9", "S-1", Standing.TO_APPLY)


def test_an_area_that_was_not_there_is_taken_away_if_the_sheet_knows_areas():
    other = {key.replace("areas.1", "areas.2"): value for key, value in NOW.items()}
    changes, impossible = planned(other)
    assert {key: value for key, (_, value) in changes.items()} == {
        "areas.1.kind": None,
        "areas.1.label": None,
        "areas.1.outline": None,
        "areas.2.kind": "watch",
        "areas.2.label": "Bed",
        "areas.2.outline": NOW["areas.1.outline"],
    }
    assert impossible == {}


def test_a_sheet_that_knows_no_areas_leaves_them_and_says_so():
    kept = {key: value for key, value in NOW.items() if not key.startswith("areas.")}
    changes, impossible = planned(kept)
    assert changes == {}
    assert set(impossible.values()) == {"the kept sheet doesn't say it; it stays as it is"}
    changes, impossible = planned(kept, says_areas=True)
    assert set(changes) == {"areas.1.kind", "areas.1.label", "areas.1.outline"}
    assert impossible == {}


def test_what_is_fitted_or_installed_is_said_item_by_item():
    kept = NOW | {"build.version": "1.0.0", "module.firmware": "5", "hardware.revision": "H4"}
    kept |= {"mount.height_mm": 1800, "odd.thing": 1}
    changes, impossible = planned(kept)
    assert changes == {}
    assert impossible == {
        "build.version": "a build is installed, not written",
        "module.firmware": "a module is fitted by hand",
        "hardware.revision": "hardware is fitted by hand",
        "mount.height_mm": "a mount is changed on the wall, not in the unit",
        "odd.thing": "it can't be written",
    }


def test_a_setting_that_one_side_lacks_is_said():
    kept = {**NOW, "setting.range": 5}
    del kept["setting.indicator_light"]
    changes, impossible = planned(kept)
    assert changes == {}
    assert impossible == {
        "setting.range": "the unit doesn't hold such a setting now",
        "setting.indicator_light": "the kept sheet doesn't name it; it stays as it is",
    }


def test_an_area_without_a_kept_outline_cannot_be_laid_anew():
    _, impossible = planned({**NOW, "areas.7.kind": "watch"})
    assert impossible == {"areas.7.kind": "no outline of that area was kept"}
    kept = {key: value for key, value in NOW.items() if key != "areas.1.outline"}
    changes, impossible = planned({**kept, "areas.1.kind": "ignore"}, says_areas=False)
    assert changes == {"areas.1.kind": ("watch", "ignore")}
    assert set(impossible) == {"areas.1.outline"}


def test_another_module_type_lets_nothing_be_written():
    kept = NOW | {"module.type": "static", "setting.hold_time_s": 45}
    changes, impossible = planned(kept)
    assert changes == {}
    assert impossible["setting.hold_time_s"] == (
        "it was kept of a static module, and a tracking module is fitted now"
    )


KEYS = st.sampled_from([*NOW, "setting.other", "areas.2.kind", "areas.2.outline"])
VALUES = {
    "kind": st.sampled_from(["watch", "ignore"]),
    "outline": st.sampled_from(["0,0 900,0 900,900 0,900", "0,0 500,0 500,500 0,500"]),
}


@st.composite
def sheets(draw):
    keys = draw(st.sets(KEYS))
    return {key: draw(VALUES.get(key.rsplit(".", 1)[1], st.integers(0, 3))) for key in sorted(keys)}


@given(sheets(), sheets())
def test_every_item_that_differs_is_either_written_or_said_and_no_other(now, kept):
    changes, impossible = restore_plan(replace(reading(), sheet=now), kept)
    told = [change.key for change in changes] + [item.key for item in impossible]
    differing = {key for key in {*now, *kept} if not agree(key, now.get(key), kept.get(key))}
    assert sorted(told) == sorted(differing)
    after = {**now, **{change.key: change.planned for change in changes}}
    again, _ = restore_plan(
        replace(reading(), sheet={k: v for k, v in after.items() if v is not None}), kept
    )
    assert again == ()

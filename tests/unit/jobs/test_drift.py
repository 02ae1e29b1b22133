from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from fleet.jobs.build_order import DriftWord
from fleet.jobs.drift import drift_of, house_drift
from fleet.model.all_sites import SiteUnit, SiteUnits
from fleet.model.house import ApprovedBuild, ModuleType
from tests.shelves import IMAGE, OLDER, OLDEST, image

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
BUILD = ApprovedBuild(
    "R3", ModuleType.TRACKING, "2.1.3", "b-213", 30, IMAGE.sha256, earlier=("2.0.4", "1.8.0")
)
FOUND = {
    "hardware.revision": "R3",
    "module.type": "tracking",
    "build.version": "2.1.3",
    "build.sequence": 30,
}
UNIT = SiteUnit("U01", "s-1", "Den", "R3", "tracking", FOUND, {}, NOW - timedelta(hours=5))
SHELF = (OLDEST, OLDER, IMAGE)


def drift(changes=(), *, builds=(BUILD,), images=(), unit=UNIT):
    sheet = FOUND | dict(changes)
    found = {key: value for key, value in sheet.items() if value is not None}
    return drift_of(replace(unit, found=found), builds, images, NOW)


def test_a_unit_that_runs_the_approved_build_is_current_as_of_its_reading():
    state = drift()
    assert (state.word, state.behind) == (DriftWord.CURRENT, None)
    assert state.reasons == ("runs the approved 2.1.3",)
    assert state.age_s == 5 * 3600


@pytest.mark.parametrize(
    ("version", "behind", "words"), [("2.0.4", 1, "1 build"), ("1.8.0", 2, "2 builds")]
)
def test_builds_behind_are_counted_in_the_approved_ones_own_list(version, behind, words):
    state = drift({"build.version": version, "build.sequence": None})
    assert (state.word, state.behind) == (DriftWord.BEHIND, behind)
    assert state.reasons == (f"runs {version}, behind the approved 2.1.3: {words}",)


def test_a_version_that_no_list_knows_is_behind_by_its_sequence():
    state = drift({"build.version": "R7b", "build.sequence": 12})
    assert (state.word, state.behind) == (DriftWord.BEHIND, None)
    assert state.reasons[0].endswith("by how many builds isn't known")


def test_builds_behind_are_counted_on_the_shelf_where_the_list_doesnt_say():
    unlisted = replace(BUILD, earlier=())
    found = {"build.version": OLDEST.version, "build.id": OLDEST.build_id, "build.sequence": 10}
    assert drift(found, builds=(unlisted,), images=SHELF).behind == 2
    assert drift(found, builds=(unlisted,), images=(OLDEST, OLDER)).behind is None
    assert drift(found, builds=(unlisted,), images=(IMAGE,)).behind is None


def test_images_of_another_class_dont_count_between():
    other = image(sequence=25, version="2.0.9", class_id="0e8f6c1a-2f7b-4d55-8d0a-93f1f4c0aa33")
    found = {"build.version": OLDEST.version, "build.id": OLDEST.build_id, "build.sequence": 10}
    unlisted = replace(BUILD, earlier=())
    assert drift(found, builds=(unlisted,), images=(*SHELF, other)).behind == 2


def test_without_a_sequence_the_order_of_versions_decides():
    assert drift({"build.version": "2.2.0", "build.sequence": None}).word is DriftWord.AHEAD
    assert drift({"build.version": "2.1.3-rc.1", "build.sequence": None}).word is DriftWord.BEHIND


def test_a_higher_sequence_is_ahead_whatever_the_version_says():
    state = drift({"build.version": "0.9.0", "build.sequence": 31})
    assert state.word is DriftWord.AHEAD
    assert "by its sequence 31 against 30" in state.reasons[0]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"build.version": "R7b", "build.sequence": None}, "nothing orders that"),
        ({"build.version": "R7b", "build.sequence": 30}, "nothing orders that"),
        ({"build.version": "2.1.3+b", "build.sequence": None}, "nothing orders that"),
        ({"build.version": None}, "doesn't say which build"),
        ({"build.image_digest": OLDER.sha256}, "its image is not the approved one"),
    ],
)
def test_what_nothing_orders_is_an_unknown_build(changes, said):
    state = drift(changes)
    assert state.word is DriftWord.UNKNOWN_BUILD
    assert said in state.reasons[0]


def test_the_approved_image_by_its_digest_is_current():
    assert drift({"build.image_digest": IMAGE.sha256.upper()}).word is DriftWord.CURRENT


def test_a_unit_that_was_never_read_is_unknown_and_has_no_age():
    state = drift_of(SiteUnit("U02", "s-2", "Den", "R3", "tracking"), (BUILD,), (), NOW)
    assert (state.word, state.age_s, state.version) == (DriftWord.UNKNOWN_BUILD, None, "")
    assert state.reasons == ("it was never read",)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"hardware.revision": "R4"}, "answers as hardware R4, and R3 was planned"),
        ({"module.type": "static"}, "answers as a static module, and a tracking one was planned"),
    ],
)
def test_other_hardware_than_was_planned_is_settled_first(changes, said):
    state = drift(changes | {"build.version": "1.8.0"})
    assert (state.word, state.reasons) == (DriftWord.WRONG_HARDWARE, (said,))


def test_without_an_approved_build_that_is_what_is_said():
    state = drift(builds=())
    assert (state.word, state.approved) == (DriftWord.NOTHING_APPROVED, "")
    assert state.reasons == ("no build is approved for hardware R3 with a module tracking",)


def test_a_unit_that_doesnt_say_its_hardware_has_nothing_approved():
    state = drift({"hardware.revision": None, "module.type": None})
    assert state.reasons == ("no build is approved for hardware not known with a module not known",)


OLD = replace(BUILD, version="2.0.4", build_id="b-204", sequence=20, image_digest="")
RUNS_OLD = {"build.version": "2.0.4", "build.id": "b-204", "build.sequence": 20}


def test_the_approved_build_that_is_mended_no_more_is_said_to_have_ended():
    state = drift(RUNS_OLD, builds=(OLD,), images=SHELF)
    assert (state.word, state.support_ended) == (DriftWord.SUPPORT_ENDED, date(2026, 10, 1))
    assert state.reasons[1] == "its maker mended 2.0.4 until 2026-10-01"


def test_a_unit_behind_stays_behind_with_the_end_of_support_as_a_reason():
    state = drift(RUNS_OLD, images=SHELF)
    assert (state.word, state.behind, len(state.reasons)) == (DriftWord.BEHIND, 1, 2)


def test_support_lasts_to_the_end_of_its_last_day():
    lasting = replace(OLDER, support_ends=NOW.date())
    ended = replace(OLDER, support_ends=NOW.date() - timedelta(days=1))
    assert drift(RUNS_OLD, builds=(OLD,), images=(lasting,)).word is DriftWord.CURRENT
    assert drift(RUNS_OLD, builds=(OLD,), images=(ended,)).word is DriftWord.SUPPORT_ENDED


def test_a_house_is_counted_by_how_its_units_stand():
    behind = replace(UNIT, label="U02", found=FOUND | {"build.version": "2.0.4"})
    site = SiteUnits("Invented cottage", "", True, (UNIT, behind, UNIT), (BUILD,))
    house = house_drift(site, (), NOW)
    assert house.counts == {DriftWord.CURRENT: 2, DriftWord.BEHIND: 1}
    assert not house.current
    assert [drift.unit.label for drift in house.units] == ["U01", "U02", "U01"]
    assert house_drift(replace(site, units=(UNIT,)), (), NOW).current

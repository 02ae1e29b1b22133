"""Whatever a unit says: nothing is let through that a rule forbids, and drift has a word for it."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from fleet.jobs.build_order import DriftWord
from fleet.jobs.drift import drift_of
from fleet.jobs.install_rules import RefusalKind, check_install, runs
from fleet.jobs.matching_builds import Ground, MatchSaid, key_for, known_match
from fleet.jobs.versions import compared
from fleet.jobs.visits import visits_for
from fleet.model.all_sites import SiteUnit, SiteUnits
from fleet.model.house import ApprovedBuild, Match, MatchWord, ModuleType
from tests.shelves import CLASS, IMAGE, OLDER, OLDEST, OTHER_ID, VENDOR

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
BUILD = ApprovedBuild("R3", ModuleType.TRACKING, "2.1.3", "b-213", 30, IMAGE.sha256, ("2.0.4",))

said = {
    "hardware.revision": st.sampled_from(["R3", "R4", "R9", ""]),
    "hardware.vendor_id": st.sampled_from([VENDOR, VENDOR, OTHER_ID, ""]),
    "hardware.class_id": st.sampled_from([CLASS, CLASS, OTHER_ID, ""]),
    "module.type": st.sampled_from(["tracking", "static", "vital-sign", ""]),
    "module.firmware": st.sampled_from(["5.0", "4.9", ""]),
    "build.version": st.sampled_from(["2.1.3", "2.0.4", "1.8.0", "2.1.4", "R7b", ""])
    | st.text(max_size=6),
    "build.id": st.sampled_from(["b-213", "b-204", ""]),
    "build.sequence": st.integers(0, 60) | st.booleans() | st.sampled_from(["30", ""]),
    "build.image_digest": st.sampled_from([IMAGE.sha256, OLDER.sha256, "00", ""]),
}
likely = st.fixed_dictionaries({}, optional=said)
sheets = st.builds(
    lambda changes: (
        {
            "hardware.revision": "R3",
            "hardware.vendor_id": VENDOR,
            "hardware.class_id": CLASS,
            "module.type": "tracking",
            "module.firmware": "5.0",
        }
        | changes
    ),
    likely,
)
words = st.sampled_from(MatchWord)
matches = st.lists(
    words.map(lambda word: Match("R3", ModuleType.TRACKING, "5.0", "2.1.3", word)), max_size=1
)


@st.composite
def sheets_and_words(draw):
    sheet = draw(sheets | likely)
    key = key_for(sheet, IMAGE.version)
    spoken = draw(st.none() | words)
    if spoken is None:
        return sheet, {}
    return sheet, {key: MatchSaid(key, spoken, "Invented Installer", "tried", NOW)}


@given(sheets_and_words(), matches, st.booleans())
def test_what_is_let_through_breaks_no_rule(told, planned, allow_downgrade):
    sheet, spoken = told
    refusal = check_install(IMAGE, sheet, {}, planned, spoken, allow_downgrade=allow_downgrade)
    if refusal is not None:
        assert refusal.said
        return
    known = known_match(key_for(sheet, IMAGE.version), IMAGE, planned, spoken)
    ids = (sheet.get("hardware.vendor_id"), sheet.get("hardware.class_id"))
    assert known.match is MatchWord.ALLOWED
    assert ids == (VENDOR, CLASS) or (known.ground is Ground.PERSON and OTHER_ID not in ids)
    assert sheet["hardware.revision"] in IMAGE.hardware_revisions
    assert sheet["module.type"] in IMAGE.module_types
    assert not runs(IMAGE, sheet)
    sequence = sheet.get("build.sequence")
    if type(sequence) is int and not allow_downgrade:
        assert sequence < IMAGE.sequence
    elif not allow_downgrade:
        assert compared(IMAGE.version, str(sheet.get("build.version", ""))) == 1


@given(sheets_and_words(), matches)
def test_a_persons_decision_to_go_back_lifts_the_rules_of_order_alone(told, planned):
    sheet, spoken = told
    plain = check_install(IMAGE, sheet, {}, planned, spoken)
    lifted = check_install(IMAGE, sheet, {}, planned, spoken, allow_downgrade=True)
    if plain is None or plain.kind in (RefusalKind.SEQUENCE, RefusalKind.ORDER_UNKNOWN):
        assert lifted is None
    else:
        assert lifted == plain


@given(sheets | likely, st.booleans(), st.integers(0, 10**9))
def test_drift_has_a_word_and_a_reason_for_any_unit(sheet, was_read, age_s):
    read_at = NOW - timedelta(seconds=age_s) if was_read else None
    unit = SiteUnit("U1", "s-1", "Den", "R3", "tracking", sheet if was_read else {}, {}, read_at)
    state = drift_of(unit, (BUILD,), (OLDEST, OLDER, IMAGE), NOW)
    assert all(state.reasons)
    assert state.age_s == (age_s if was_read else None)
    assert (state.behind is None) or (state.word is DriftWord.BEHIND and state.behind > 0)
    if state.word is DriftWord.CURRENT:
        assert sheet["build.version"] == "2.1.3"
        assert sheet.get("build.image_digest", "") in ("", IMAGE.sha256)


@given(st.lists(sheets, max_size=5))
def test_each_read_unit_is_in_one_part_of_a_visit_at_most_and_a_visit_has_something_to_do(found):
    units = tuple(
        SiteUnit(f"U{number}", f"s-{number}", "Den", "R3", "tracking", sheet, {}, NOW)
        for number, sheet in enumerate(found)
    )
    site = SiteUnits("Invented cottage", "", True, units)
    visits = visits_for(IMAGE, (site, replace(site, name="Empty", units=())), {}, NOW)
    assert len(visits) <= 1
    for visit in visits:
        parts = (*visit.to_update, *(left.unit for left in (*visit.needs_word, *visit.left)))
        assert len({unit.label for unit in parts}) == len(parts)
        assert visit.to_update or visit.needs_word

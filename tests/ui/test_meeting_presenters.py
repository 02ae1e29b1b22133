from dataclasses import replace

import pytest

from fleet.model.meeting import AddressResult, Expected, LockedUnit, Meeting
from fleet.model.snapshot import HouseState, ItemState, LinkState, LiveUnit
from tests.ui.invented import (
    CERTIFICATE,
    INTERFACES,
    STRANGER,
    TRUSTED,
    half_met,
    house_of,
    talkative,
)
from ui.presenters.address_rows import address_rows, asked_lines, summary_words
from ui.presenters.diagnosis_words import tried_heading
from ui.presenters.fingerprints import (
    first_group,
    grouped,
    without_fingerprints,
)
from ui.presenters.interface_rows import chosen_row, interface_rows
from ui.presenters.meeting_rows import (
    Filter,
    Step,
    empty_words,
    filter_words,
    meeting_note,
    meeting_rows,
    others_locked,
    row_words,
    step_hint,
    twins,
)
from ui.presenters.notices import security_words, trouble_words
from ui.presenters.said_rows import NOT_COUNTED, lost_words, said_groups
from ui.presenters.secret_words import (
    SecretKind,
    asked_words,
    missing_words,
    open_way_words,
    outcome_words,
    secret_kinds,
)
from ui.presenters.sweep_words import (
    Found,
    SweepState,
    end_words,
    said_words,
    shown,
    ticked,
    where_words,
)
from ui.presenters.words import breakable

HOUSE = half_met()
ROWS = {row.head: row for row in meeting_rows(HOUSE)}


def lines_of(groups):
    return {row.name or row.value: row.value for group in groups for row in group.rows}


def test_every_unit_of_the_schedule_has_a_row_in_its_order_and_strangers_follow():
    labels = [unit.line.label for unit in HOUSE.units.values()]
    heads = [row.head for row in meeting_rows(HOUSE)]
    assert heads == [*labels, STRANGER.serial, ROWS["U01"].serial]


@pytest.mark.parametrize(
    ("head", "state", "steps"),
    [
        ("U02", ItemState.SHOWN, (Step.SHOW, Step.BLINK, Step.PLACE)),
        ("U03", ItemState.TO_DO, (Step.UNLOCK,)),
        ("U07", ItemState.LOOK, (Step.CERTIFICATE,)),
        ("U12", ItemState.LOOK, (Step.SHOW,)),
        ("U14", ItemState.NOT_TESTED, (Step.SHOW,)),
        (STRANGER.serial, ItemState.LOOK, (Step.PLACE, Step.BLINK, Step.SHOW)),
        (ROWS["U01"].serial, ItemState.WRONG, (Step.SETTLE,)),
    ],
)
def test_a_row_offers_what_can_be_done_about_its_unit(head, state, steps):
    row = [row for row in meeting_rows(HOUSE) if row.head == head][-1]
    assert (row.state, row.steps) == (state, steps)


def test_a_row_is_said_whole_and_says_nothing_twice():
    assert row_words(ROWS["U03"]) == (
        "U03, Living room, wants a password, AP14-RPATJ · 192.0.2.33:8080"
    )
    assert ROWS["U05"].said == "It refused the password that was given."


def test_a_row_names_a_certificate_by_its_first_figures_and_keeps_it_whole():
    assert "5E5E…" in ROWS["U07"].said
    assert TRUSTED not in ROWS["U07"].said.replace(" ", "")
    assert ROWS["U07"].changed.key == "urn:u07"


def test_filters_leave_what_is_missing_and_what_is_to_be_settled():
    assert [row.head for row in meeting_rows(HOUSE, Filter.MISSING)] == ["U09", "U14"]
    assert filter_words(HOUSE, Filter.MISSING) == "Missing 2"
    assert filter_words(HOUSE, Filter.TO_SETTLE) == "To settle 6"
    assert len(meeting_rows(HOUSE, Filter.TO_SETTLE)) == 6


def test_the_note_counts_each_way_that_it_can_go():
    assert meeting_note(HOUSE) == (
        "8 of 14 units met · 2 want a password · 2 heard, not read · 1 gone · 1 not heard"
        " · 1 not on the schedule · 1 says another unit's serial"
    )
    twice = replace(HOUSE, expected=(*HOUSE.expected, HOUSE.expected[-1]))
    assert meeting_note(twice).endswith("2 say another unit's serial")


def test_a_locked_unit_that_no_line_stands_for_is_shown_all_the_same():
    loose = LockedUnit("urn:loose", "http://192.0.2.250/td", "A locked one", ("apikey",))
    house = replace(HOUSE, locked=(*HOUSE.locked, loose))
    row = meeting_rows(house)[-1]
    assert (row.head, row.locked, row.steps) == ("192.0.2.250", loose, (Step.UNLOCK,))


def test_nothing_to_show_says_why_and_what_next():
    assert "Scan, or add" in empty_words(HouseState(HOUSE.plan), Filter.MISSING)
    assert "Nothing is missing" in empty_words(HOUSE, Filter.MISSING)
    assert empty_words(HOUSE, Filter.TO_SETTLE) == "Nothing to settle."


def test_a_row_without_a_step_says_what_to_look_at():
    unread = {serial: replace(unit, found=None) for serial, unit in HOUSE.units.items()}
    rows = {row.head: row for row in meeting_rows(replace(HOUSE, units=unread))}
    assert "powered" in step_hint(rows["U14"])
    assert "power and its network" in step_hint(rows["U09"])
    assert step_hint(rows["U02"]) == step_hint(None) == ""


def test_the_same_secret_is_offered_only_where_the_same_kind_is_wanted():
    first, second = HOUSE.locked
    assert others_locked(HOUSE, first) == (second,)
    token = replace(second, kinds=("bearer",))
    assert others_locked(replace(HOUSE, locked=(first, token)), first) == ()


def test_both_lines_of_a_double_serial_are_found():
    assert [line.state for line in twins(HOUSE, ROWS["U01"].serial)] == [
        Meeting.MET,
        Meeting.DOUBLE,
    ]
    assert twins(HOUSE, "") == ()


def test_interfaces_are_offered_with_all_first_and_loopback_last():
    rows = interface_rows(INTERFACES)
    assert [row.text for row in rows] == [
        "All interfaces",
        "lan0 · 192.0.2.17 · network 192.0.2.0/24",
        "wifi0 · 198.51.100.4 · network 198.51.100.0/24",
        "lo · 127.0.0.1 · this machine alone",
    ]
    assert chosen_row(rows, "198.51.100.4") == 2
    assert chosen_row(rows, "wifi0") == 2
    assert chosen_row(rows, "all interfaces") == chosen_row(rows, "") == 0


def test_what_is_listened_on_stands_chosen_even_where_the_machine_lists_it_no_more():
    rows = interface_rows(INTERFACES, "127.64.1.1")
    assert rows[chosen_row(rows, "127.64.1.1")].text == "127.64.1.1 · in use"
    assert interface_rows(INTERFACES, "all interfaces") == interface_rows(INTERFACES, "wifi0")


def test_a_fingerprint_is_read_in_groups_and_found_again_in_them():
    lines = grouped(TRUSTED).splitlines()
    assert lines[0] == "5E5E 5E5E 5E5E 5E5E"
    assert len(lines) == 4
    assert first_group(TRUSTED) == "5E5E…"
    colons = ":".join([TRUSTED[:2]] * 32)
    assert without_fingerprints(f"colons: {colons}.") == "colons: 5E5E…"
    assert without_fingerprints(f"longer: {TRUSTED}00") == f"longer: {TRUSTED}00"


def test_a_row_knows_who_shows_another_certificate_by_the_houses_own_list():
    rows = {row.head: row for row in meeting_rows(HOUSE)}
    assert rows["U07"].changed == CERTIFICATE
    assert rows["U07"].steps == (Step.CERTIFICATE,)
    quiet = {row.head: row for row in meeting_rows(replace(HOUSE, certificates=()))}
    assert quiet["U07"].changed is None


def test_what_came_of_each_address():
    results = (
        AddressResult("192.0.2.1", "AP1"),
        AddressResult("192.0.2.2", said="nothing answers there."),
        AddressResult("192.0.2.3", "AP3", "It was met before."),
    )
    assert [(row.text, row.state) for row in address_rows(results)] == [
        ("192.0.2.1: AP1 was met.", ItemState.SHOWN),
        ("192.0.2.2: nothing answers there.", ItemState.WRONG),
        ("192.0.2.3: AP3 was met. It was met before.", ItemState.SHOWN),
    ]
    assert summary_words(results) == "2 of 3 addresses led to a unit."
    assert asked_lines(" a \n\n b") == ("a", "b")


def test_the_fold_says_how_much_lies_under_it():
    assert tried_heading(1, open_now=False) == "Show what was tried: 1 test"
    assert tried_heading(4, open_now=True) == "Hide what was tried: 4 tests"


def test_what_is_typed_goes_by_what_the_unit_offers():
    def kinds(*offered):
        return secret_kinds(LockedUnit("k", "http://192.0.2.1/td", "", offered))

    assert kinds("digest", "basic") == (SecretKind.PASSWORD,)
    assert kinds("bearer", "basic") == (SecretKind.TOKEN, SecretKind.PASSWORD)
    assert kinds("apikey") == (SecretKind.KEY,)
    assert kinds() == (SecretKind.PASSWORD,)


@pytest.mark.parametrize(
    ("address", "kinds", "open_way"),
    [
        ("http://192.0.2.1/td", ("basic",), True),
        ("http://192.0.2.1/td", ("digest", "basic"), True),
        ("http://192.0.2.1/td", ("digest",), False),
        ("https://192.0.2.1/td", ("basic",), False),
        ("mqtt://192.0.2.1", ("basic",), True),
    ],
)
def test_a_secret_that_can_be_overheard_is_said_to_be(address, kinds, open_way):
    assert bool(open_way_words(LockedUnit("k", address, "", kinds))) is open_way


def test_why_a_secret_is_asked_for_names_the_id_that_one_is_kept_under():
    unit = LockedUnit("http://192.0.2.1:80", "http://192.0.2.1/td", "", ("bearer",))
    assert asked_words(unit) == "It lets nobody read it without."
    held_back = asked_words(replace(unit, kept_under="urn:u1"))
    assert held_back.startswith(
        "It says that it is urn:u1. The token kept for that one wasn't for this address"
    )
    assert "refused" in asked_words(replace(unit, kept_under="urn:u1", refused=True))


def test_what_is_missing_is_said_before_anything_is_sent():
    assert "password is missing" in missing_words(SecretKind.PASSWORD, "me", "")
    assert "user is missing" in missing_words(SecretKind.PASSWORD, " ", "x")
    assert "token is missing" in missing_words(SecretKind.TOKEN, "", "")
    assert missing_words(SecretKind.KEY, "", "x") == ""
    assert outcome_words(2, ("U05",)) == "2 units let us in. Refused by U05."
    assert outcome_words(1, ()) == "1 unit let us in."


def test_notices_count_what_stands_behind_them():
    assert security_words(HOUSE) == "3 security notes"
    assert trouble_words(HOUSE) == "1 trouble"
    assert security_words(house_of()) == trouble_words(house_of()) == ""


def test_a_share_that_cannot_be_counted_is_never_shown_as_none():
    assert lost_words(None) == NOT_COUNTED
    assert lost_words(0) == "0.0 %"
    assert lost_words(12_300) == "1.2 %"


def test_nothing_that_a_unit_says_is_dropped():
    reading = next(iter(HOUSE.units.values())).found
    reading = replace(
        reading,
        other={"temperature": "20.1 °C", "spare pin 2": "on"},
        capabilities={
            "max_range_mm": 7000,
            "coordinate_resolution_mm": 1,
            "vertical_field_of_view_deg": 60,
            "field_of_view_mdeg": 110_500,
            "max_targets": 4,
            "frame_rate_hz": 9.5,
            "shapes": "rectangle",
            "vital_signs": False,
        },
        missing=("breathing",),
        complaints=("a form led to another host",),
        area_revision=12,
        access="password over http",
    )
    said = lines_of(said_groups(reading, talkative(reading.serial)))
    assert said["Temperature"] == "21.4 °C"  # now, not as it was read
    assert {key: said[key] for key in ("Spare pin 2", "Humidity", "Supply", "Signal")} == {
        "Spare pin 2": "on",
        "Humidity": "46 %",
        "Supply": "4.96 V",
        "Signal": "−61 dBm",
    }
    assert (said["Way"], said["Rate"], said["Lost"]) == ("polled", "2.1 a second", NOT_COUNTED)
    assert said["Oldest part"] == "3.2 s, y of target 1"
    assert (said["Max range"], said["Field of view"]) == ("7.00 m", "110.5°")
    assert (said["Max targets"], said["Frame rate"], said["Shapes"]) == ("4", "9.5 Hz", "rectangle")
    assert said["Vital signs"] == "no"
    assert (said["Coordinate resolution"], said["Vertical field of view"]) == ("1 mm", "60°")
    assert said["It doesn't say"] == "breathing"
    assert "A form led to another host" in said
    assert said["Area set, revision"] == "12"
    assert said["Lets in"] == "password over http"
    assert said["y of target 1 is no number"] == "3 ×"
    assert said["Somebody there"] == "yes"
    values = set(said.values())
    assert {str(v) for v in reading.sheet.values() if isinstance(v, str) and "," not in v} <= values


def test_a_reading_in_thousandths_is_said_as_people_say_it():
    reading = next(iter(HOUSE.units.values())).found
    other = {"board": "36657 m°C", "outside": "-1250 m°C", "rail": "5000 mV", "note": "mV"}
    said = lines_of(said_groups(replace(reading, other=other), None))
    assert (said["Board"], said["Outside"]) == ("36.7 °C", "−1.2 °C")
    assert (said["Rail"], said["Note"]) == ("5.00 V", "mV")


def test_what_is_old_looks_old():
    groups = {group.title: group.rows for group in said_groups(None, talkative("AP1"))}
    assert [row.old for row in groups["Parts of a report"]] == [True, False, False]
    quiet = LiveUnit("AP1", LinkState.QUIET, 12.0, readings={"temperature": "20 °C"})
    assert all(row.old for row in said_groups(None, quiet)[2].rows)


def test_a_unit_that_says_little_is_said_to():
    said = lines_of(said_groups(None, None))
    assert said["Reports"] == "none came"
    assert "It was not read yet." in said
    silent = LiveUnit("AP1", LinkState.LIVE, 0.1, ranges_mm=(2310,))
    assert lines_of(said_groups(None, silent))["Distances"] == "2.31 m"
    assert "nothing of presence" in str(said_groups(None, LiveUnit("AP1")))


def test_a_sweep_keeps_what_was_said_of_each_unit():
    house = house_of()
    first, second, third = list(house.units)[:3]
    state = ticked(shown(SweepState(), first), Found.THERE)
    assert said_words(house, state) == "U01: found it. The next one follows by itself."
    state = shown(shown(state, second), first)
    assert state.seen == (first, second)
    state = ticked(shown(shown(state, second), ""), Found.THERE)
    assert second not in state.found
    state = ticked(shown(state, second), Found.ELSEWHERE)
    state = shown(state, third)
    assert "number 3 of this sweep" in said_words(house, state)
    assert end_words(house, state, {"AP-GONE": "can't be reached"}) == (
        "1 unit found; not where the plan says: U02; nothing said of U03; "
        "couldn't show themselves: AP-GONE."
    )


def test_a_sweep_of_many_names_a_few():
    house = house_of()
    state = SweepState(seen=tuple(house.units))
    assert end_words(house, state, {}) == (
        "0 units found; nothing said of U01, U02, U03, U04 and 10 more."
    )


def test_a_unit_on_no_plan_is_said_to_be():
    assert where_words(house_of(), STRANGER.serial) == f"{STRANGER.serial}, on no plan yet"


def test_a_long_word_may_go_over_the_end_of_a_line():
    assert breakable("short words stay") == "short words stay"
    assert breakable("a" * 40).split("\u200b") == ["a" * 16, "a" * 16, "a" * 8]


def test_an_expected_line_without_any_name_is_still_a_row():
    house = replace(HOUSE, expected=(Expected("", "", "", "", Meeting.HEARD),), locked=())
    assert meeting_rows(house)[0].head == "unknown"

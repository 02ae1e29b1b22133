from dataclasses import replace
from datetime import UTC, datetime

import pytest

from fleet.jobs.builds import match_of
from fleet.jobs.matching_builds import (
    MATCH_SAID,
    Ground,
    MatchKey,
    detail_of,
    key_for,
    known_match,
    matches_with,
    said_in,
)
from fleet.model.house import Match, MatchWord, ModuleType
from fleet.model.journal import JournalRow
from tests.shelves import IMAGE

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
KEY = MatchKey("R3", "tracking", "5.0", "2.1.3")
UNTRIED = replace(KEY, module_firmware="4.9")


def planned(word, key=KEY):
    module = ModuleType(key.module_type)
    return Match(key.hardware_revision, module, key.module_firmware, key.version, word)


def row(number, key, word, what=MATCH_SAID):
    detail = detail_of(key, word, by="Invented Installer", why=f"reason {number}")
    return JournalRow(number, NOON, what, str(key), detail)


def said(*words, key=KEY):
    return said_in(row(number, key, word) for number, word in enumerate(words, start=1))


def test_a_key_is_what_the_unit_says_of_itself():
    sheet = {"hardware.revision": "R3", "module.type": "tracking", "module.firmware": "5.0"}
    assert key_for(sheet, "2.1.3") == KEY
    assert str(KEY) == "2.1.3 on hardware R3 with a tracking module, its firmware 5.0"


def test_what_its_maker_tried_is_allowed_and_nothing_beyond_it():
    known = known_match(KEY, IMAGE, (), {})
    assert (known.match, known.ground) == (MatchWord.ALLOWED, Ground.MAKER)
    for other in (
        UNTRIED,
        replace(KEY, hardware_revision="R9"),
        replace(KEY, module_type="vital-sign"),
        replace(KEY, version="2.1.4"),
    ):
        assert known_match(other, IMAGE, (), {}).match is MatchWord.UNKNOWN


@pytest.mark.parametrize("word", MatchWord)
@pytest.mark.parametrize("plan", [(), *((planned(one),) for one in MatchWord)])
def test_what_the_plan_and_people_know_together_is_what_an_update_goes_by(word, plan):
    together = matches_with(plan, said(word))
    by_findings = match_of("R3", "tracking", "5.0", "2.1.3", together)
    assert by_findings is known_match(KEY, None, plan, said(word)).match


def test_a_word_on_a_module_that_no_plan_knows_is_left_out():
    unheard_of = replace(KEY, module_type="sonar")
    assert matches_with((planned(MatchWord.ALLOWED),), said(MatchWord.BLOCKED, key=unheard_of)) == (
        planned(MatchWord.ALLOWED),
    )


def test_nobody_vouches_for_an_image_on_no_shelf():
    known = known_match(KEY, None, (), {})
    assert (known.match, known.ground) == (MatchWord.UNKNOWN, Ground.NOBODY)


@pytest.mark.parametrize("word", [MatchWord.ALLOWED, MatchWord.BLOCKED])
def test_the_plan_speaks_before_the_maker(word):
    known = known_match(KEY, IMAGE, (planned(word),), {})
    assert (known.match, known.ground) == (word, Ground.PLAN)


def test_a_persons_word_makes_known_what_was_unknown_with_name_and_reason():
    known = known_match(UNTRIED, IMAGE, (), said(MatchWord.ALLOWED, key=UNTRIED))
    assert (known.match, known.ground) == (MatchWord.ALLOWED, Ground.PERSON)
    assert known.because == "Invented Installer said so on 2026-11-25: reason 1"


def test_a_persons_word_goes_before_what_plan_and_maker_allow():
    words = said(MatchWord.BLOCKED)
    assert known_match(KEY, IMAGE, (planned(MatchWord.ALLOWED),), words).match is MatchWord.BLOCKED


def test_what_the_plan_blocks_stays_blocked():
    words = said(MatchWord.ALLOWED)
    assert known_match(KEY, IMAGE, (planned(MatchWord.BLOCKED),), words).ground is Ground.PLAN


def test_the_last_word_counts_and_may_take_the_first_one_back():
    words = said(MatchWord.ALLOWED, MatchWord.UNKNOWN, key=UNTRIED)
    assert known_match(UNTRIED, IMAGE, (), words).match is MatchWord.UNKNOWN
    assert words[UNTRIED].why == "reason 2"


def test_a_word_for_one_key_says_nothing_of_another():
    assert known_match(UNTRIED, IMAGE, (), said(MatchWord.ALLOWED)).match is MatchWord.UNKNOWN


@pytest.mark.parametrize("name", ["hardware_revision", "module_type", "module_firmware"])
def test_a_unit_that_doesnt_say_what_it_is_is_unknown_whatever_is_said(name):
    key = replace(KEY, **{name: ""})
    assert known_match(key, IMAGE, (), said(MatchWord.ALLOWED, key=key)).match is MatchWord.UNKNOWN


def test_rows_about_other_things_are_passed_over():
    assert said_in([row(1, KEY, MatchWord.ALLOWED, what="read")]) == {}

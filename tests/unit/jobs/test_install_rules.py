from dataclasses import replace
from datetime import UTC, datetime

import pytest

from fleet.jobs.install_rules import RefusalKind, check_install, fits, runs
from fleet.jobs.matching_builds import MatchSaid, key_for
from fleet.model.house import Match, MatchWord, ModuleType
from tests.shelves import CLASS, IMAGE, OLDER, OTHER_ID, VENDOR

FOUND = {
    "hardware.revision": "R3",
    "hardware.vendor_id": VENDOR,
    "hardware.class_id": CLASS,
    "module.type": "tracking",
    "module.firmware": "5.0",
    "build.version": OLDER.version,
    "build.id": OLDER.build_id,
    "build.sequence": OLDER.sequence,
    "build.image_digest": OLDER.sha256,
}
BLOCKED = Match("R3", ModuleType.TRACKING, "5.0", IMAGE.version, MatchWord.BLOCKED)


def word(sheet, match=MatchWord.ALLOWED, image=IMAGE):
    key = key_for(sheet, image.version)
    at = datetime(2026, 11, 25, tzinfo=UTC)
    return {key: MatchSaid(key, match, "Invented Installer", "tried on the bench", at)}


def refusal(changes=(), *, image=IMAGE, other=(), matches=(), said=(), allow_downgrade=False):
    sheet = FOUND | dict(changes)
    whole = {key: value for key, value in sheet.items() if value is not None}
    return check_install(
        image, whole, dict(other), matches, dict(said), allow_downgrade=allow_downgrade
    )


def test_nothing_speaks_against_a_newer_build_that_its_maker_tried():
    assert refusal() is None


WRONG = {
    "another vendor": ({"hardware.vendor_id": OTHER_ID}, RefusalKind.VENDOR, OTHER_ID),
    "another class": ({"hardware.class_id": OTHER_ID}, RefusalKind.CLASS, OTHER_ID),
    "other hardware": (
        {"hardware.revision": "R9"},
        RefusalKind.HARDWARE,
        "R3 or R4, and the unit's is R9",
    ),
    "hardware not said": (
        {"hardware.revision": None},
        RefusalKind.HARDWARE,
        "the unit's is not known",
    ),
    "another module": (
        {"module.type": "vital-sign"},
        RefusalKind.MODULE,
        "tracking or static module",
    ),
    "module not said": ({"module.type": None}, RefusalKind.MODULE, "the unit's is not known"),
    "untried module firmware": (
        {"module.firmware": "4.9"},
        RefusalKind.UNKNOWN,
        "nobody has vouched for 2.1.3",
    ),
    "module firmware not said": (
        {"module.firmware": None},
        RefusalKind.UNKNOWN,
        "its firmware not known",
    ),
    "vendor not said": (
        {"hardware.vendor_id": None},
        RefusalKind.UNSAID,
        "doesn't say its vendor id",
    ),
    "class not said": ({"hardware.class_id": None}, RefusalKind.UNSAID, "doesn't say its class id"),
    "the same image": (
        {"build.image_digest": IMAGE.sha256},
        RefusalKind.SAME_BUILD,
        "runs 2.1.3 already",
    ),
    "a higher sequence": (
        {"build.sequence": 31},
        RefusalKind.SEQUENCE,
        "30 is lower than the unit's, 31",
    ),
    "the same sequence": (
        {"build.sequence": 30},
        RefusalKind.SEQUENCE,
        "another image of the same sequence, 30",
    ),
    "no sequence, newer": (
        {"build.sequence": None, "build.version": "2.2.0"},
        RefusalKind.SEQUENCE,
        "2.1.3 is no newer than 2.2.0",
    ),
    "no sequence, odd": (
        {"build.sequence": None, "build.version": "R7b"},
        RefusalKind.ORDER_UNKNOWN,
        "newer than R7b isn't known",
    ),
    "no build at all": (
        {"build.sequence": None, "build.version": None},
        RefusalKind.ORDER_UNKNOWN,
        "what the unit runs isn't known",
    ),
}


@pytest.mark.parametrize(("changes", "kind", "said"), WRONG.values(), ids=WRONG)
def test_each_thing_wrong_has_a_sentence_of_its_own(changes, kind, said):
    refused = refusal(changes)
    assert refused.kind is kind
    assert said in refused.said


def test_a_blocked_match_is_refused_with_who_blocks_it():
    refused = refusal(matches=(BLOCKED,))
    assert (refused.kind, refused.said.endswith("is blocked: the plan blocks it")) == (
        RefusalKind.BLOCKED,
        True,
    )


def test_what_is_blocked_stays_so_whatever_a_person_says_or_decides():
    said = word(FOUND)
    refused = refusal(matches=(BLOCKED,), said=said, allow_downgrade=True)
    assert refused.kind is RefusalKind.BLOCKED


def test_a_persons_word_lets_an_unknown_match_through():
    changes = {"module.firmware": "4.9"}
    assert refusal(changes, said=word(FOUND | changes)) is None


@pytest.mark.parametrize("key", ["hardware.vendor_id", "hardware.class_id"])
def test_a_unit_that_doesnt_say_its_ids_takes_a_persons_word_and_no_other(key):
    planned = replace(BLOCKED, match=MatchWord.ALLOWED)
    assert refusal({key: None}, matches=(planned,)).kind is RefusalKind.UNSAID
    assert refusal({key: None}, said=word(FOUND)) is None


def test_no_word_helps_against_another_vendor_class_hardware_or_module():
    for changes in (
        {"hardware.vendor_id": OTHER_ID},
        {"hardware.vendor_id": None, "hardware.class_id": OTHER_ID},
        {"hardware.revision": "R9"},
        {"module.type": "vital-sign"},
    ):
        said = word(FOUND | {key: value or "" for key, value in changes.items()})
        assert refusal(changes, said=said, allow_downgrade=True).kind in {
            RefusalKind.VENDOR,
            RefusalKind.CLASS,
            RefusalKind.HARDWARE,
            RefusalKind.MODULE,
        }


def test_ids_are_found_among_all_else_that_a_unit_says_and_in_any_case():
    changes = {"hardware.vendor_id": None, "hardware.class_id": None}
    other = {"vendor id": VENDOR.upper(), "class id": f" {CLASS} "}
    assert refusal(changes, other=other) is None
    assert refusal(changes, other=other | {"class id": OTHER_ID}).kind is RefusalKind.CLASS


@pytest.mark.parametrize(
    "changes",
    [
        {"build.sequence": 31},
        {"build.sequence": 30},
        {"build.sequence": None, "build.version": "2.2.0"},
        {"build.sequence": None, "build.version": "R7b"},
    ],
)
def test_going_back_is_a_persons_decision(changes):
    assert refusal(changes, allow_downgrade=True) is None


def test_the_sequence_and_not_the_version_orders_builds():
    assert refusal({"build.version": "9.9.9"}) is None
    assert refusal({"build.version": "0.0.1", "build.sequence": 40}).kind is RefusalKind.SEQUENCE


def test_true_is_no_sequence():
    assert refusal({"build.sequence": True}) is None  # 2.0.4 comes before 2.1.3 by its version


def test_a_unit_runs_an_image_by_its_digest_alone_where_it_says_one():
    same_words = {"build.version": "2.1.3", "build.id": "b-213", "build.sequence": 30}
    assert not runs(IMAGE, FOUND | same_words)
    assert runs(IMAGE, FOUND | {"build.image_digest": IMAGE.sha256.upper()})


def test_a_unit_without_a_digest_runs_an_image_by_version_name_and_sequence():
    sheet = {"build.version": "2.1.3", "build.id": "b-213"}
    assert runs(IMAGE, sheet)
    assert runs(IMAGE, sheet | {"build.sequence": 30})
    assert not runs(IMAGE, sheet | {"build.sequence": 29})
    assert not runs(IMAGE, sheet | {"build.id": "b-212"})
    assert not runs(IMAGE, {})


def test_an_image_fits_by_hardware_and_module():
    assert fits(IMAGE, FOUND)
    assert not fits(IMAGE, FOUND | {"hardware.revision": "R9"})
    assert not fits(IMAGE, FOUND | {"module.type": "vital-sign"})

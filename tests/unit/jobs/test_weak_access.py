import pytest

from fleet.jobs.weak_access import MOST_NAMED, weak_access


def test_nothing_is_said_where_nothing_is_weak_or_known():
    assert weak_access({"U01": "token over https", "U02": "password over https", "U03": ""}) == ()
    assert weak_access({}, ()) == ()


@pytest.mark.parametrize("words", ["open", "open over http", "open over https"])
def test_units_that_anybody_can_change_are_named_in_one_sentence(words):
    (said,) = weak_access({"U01": words, "U02": "token over https", "U03": words})
    assert said.startswith("U01 and U03 take orders from anybody")
    assert "U02" not in said


@pytest.mark.parametrize(
    "words",
    [
        "password over http",
        "token over http",
        "key over ws",
        "password over mqtt",
        "digest password and key over http",
    ],
)
def test_a_secret_that_can_be_read_on_the_way_is_said(words):
    (said,) = weak_access({"U07": words})
    assert said.startswith("U07 sends its secret unencrypted")
    assert "https" in said


@pytest.mark.parametrize("words", ["password over https", "key over wss", "password over mqtts"])
def test_an_encrypted_way_is_not_taken_for_its_open_twin(words):
    assert weak_access({"U07": words}) == ()


def test_a_digest_hides_the_password_and_nothing_else():
    (said,) = weak_access({"U07": "digest password over http"})
    assert said.startswith("U07 keeps its password to itself but sends everything else")
    assert weak_access({"U07": "digest password over https"}) == ()


def test_a_shared_secret_is_said_a_group_at_a_time_and_one_alone_is_none():
    said = weak_access({}, [("U01", "U02"), ("U03",), ("U04", "U05", "U06")])
    assert [line.split(" have one password")[0] for line in said] == [
        "U01 and U02",
        "U04, U05 and U06",
    ]


def test_many_units_are_counted():
    labels = [f"U{number}" for number in range(MOST_NAMED + 30)]
    (said,) = weak_access(dict.fromkeys(labels, "open"))
    assert f"U{MOST_NAMED - 1} and 30 more take" in said
    assert f"U{MOST_NAMED}," not in said


def test_the_worst_comes_first_and_singular_and_plural_agree():
    access = {
        "A": "digest password over http",
        "B": "digest password over http",
        "C": "password over http",
        "D": "token over http",
        "E": "open",
    }
    starts = [" ".join(said.split(" ")[:4]) for said in weak_access(access, [("C", "D")])]
    assert starts == [
        "E takes orders from",
        "C and D have",
        "C and D send",
        "A and B keep",
    ]


def test_no_provision_is_quoted_to_the_person():
    access = {"A": "open", "B": "password over http", "C": "digest password over http"}
    assert not any("ETSI" in said or "5." in said for said in weak_access(access, [("A", "B")]))

from fleet.jobs.versions import MOST_CHARS, Version, compared, version_from


def test_a_version_is_read_into_its_parts():
    assert version_from("1.20.3-rc.4.x-1+make.007") == Version(
        1, 20, 3, ("rc", 4, "x-1"), ("make", "007")
    )


def test_a_hyphen_in_the_make_begins_no_earlier_version():
    assert version_from("1.0.0+a-b") == Version(1, 0, 0, (), ("a-b",))


def test_numbers_count_by_value_and_not_by_their_digits():
    assert compared("2.10.0", "2.9.9") == 1
    assert compared("1.0.0-beta.11", "1.0.0-beta.2") == 1


def test_an_odd_version_is_the_same_as_itself_and_has_no_other_order():
    assert compared("R7b", "R7b") == 0
    assert compared("R7b", "R7c") is None
    assert compared("R7b", "1.0.0") is None


def test_a_text_of_any_length_is_answered():
    assert version_from("1.0." + "9" * MOST_CHARS) is None
    assert version_from("1" * 10_000) is None
    assert compared("1." * 50_000, "1.0.0") is None

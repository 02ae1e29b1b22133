"""TXT records, RFC 6763 §6.4 (read in the source). zeroconf is no oracle: it keeps both `a` and `A`."""

from fleet.discovery.text_records import read_text_record, text_of


def record(*strings: bytes) -> bytes:
    return b"".join(bytes([len(string)]) + string for string in strings)


def test_absent_bare_empty_and_given_are_four_states():
    found = read_text_record(record(b"bare", b"empty=", b"given=v"))
    assert "absent" not in found
    assert found == {"bare": None, "empty": b"", "given": b"v"}


def test_keys_compare_without_case_and_the_first_wins():
    assert read_text_record(record(b"A=1", b"a=2")) == {"a": b"1"}


def test_a_string_without_a_key_is_ignored_in_silence():
    assert read_text_record(record(b"=x", b"", b"k=v")) == {"k": b"v"}


def test_a_value_may_hold_an_equals_sign_and_any_bytes():
    assert read_text_record(record(b"k=a=b\x00\xff")) == {"k": b"a=b\x00\xff"}


def test_a_string_that_runs_past_the_end_is_dropped_and_the_rest_stands():
    assert read_text_record(record(b"k=v") + b"\x20short") == {"k": b"v"}


def test_text_of_a_key_falls_back_where_nothing_useful_stands():
    found = read_text_record(record(b"bare", b"empty=", b"bad=\xff", b"td=/x"))
    assert text_of(found, "td", "d") == "/x"
    assert [text_of(found, key, "d") for key in ("bare", "empty", "bad", "absent")] == ["d"] * 4

from hypothesis import given
from hypothesis import strategies as st

from fleet.discovery.text_records import MAX_STRING_BYTES, read_text_record, texts_of


@given(st.binary(max_size=600))
def test_any_bytes_are_read_without_an_error_and_keys_are_lower_case(raw):
    found = read_text_record(raw)
    assert all(key == key.lower() and key for key in found)


@given(st.lists(st.binary(min_size=1, max_size=60), max_size=9))
def test_what_is_shown_of_any_record_is_printable_and_short(strings):
    raw = b"".join(bytes([len(string)]) + string for string in strings)
    for key, value in texts_of(read_text_record(raw)).items():
        assert key.isascii()
        assert (key + value).isprintable()
        assert len(value) <= MAX_STRING_BYTES


@given(st.dictionaries(st.text("abcdxyz", min_size=1, max_size=9), st.text("hk ./", max_size=40)))
def test_a_record_that_was_written_by_the_rules_is_read_back(meant):
    strings = [f"{key}={value}".encode() for key, value in meant.items()]
    raw = b"".join(bytes([len(string)]) + string for string in strings)
    assert read_text_record(raw) == {key: value.encode() for key, value in meant.items()}

from hypothesis import given
from hypothesis import strategies as st

from fleet.discovery.text_records import read_text_record


@given(st.binary(max_size=600))
def test_any_bytes_are_read_without_an_error_and_keys_are_lower_case(raw):
    found = read_text_record(raw)
    assert all(key == key.lower() and key for key in found)

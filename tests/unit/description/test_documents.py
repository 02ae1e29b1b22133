import pytest

from fleet.description.documents import as_array, as_object, as_texts, parse_document, parse_json
from fleet.description.texts import plain_number, plain_text
from fleet.model.errors import UnitError


def test_an_object_with_a_byte_order_mark_is_read():
    assert parse_document(b'\xef\xbb\xbf{"a": [1, 2.5, null]}', subject="unit") == {
        "a": [1, 2.5, None]
    }


def test_the_longest_integer_of_an_unsigned_counter_is_read():
    assert parse_json(b"18446744073709551615", subject="unit") == 2**64 - 1


@pytest.mark.parametrize(
    ("raw", "reason"),
    [
        (b"[1]", "no JSON object"),
        (b'{"a": 1', "no JSON at line 1"),
        (b'{"a": "\xff"}', "byte 7 is no UTF-8"),
        (b'{"a": NaN}', "NaN is no JSON number"),
        (b'{"a": -Infinity}', "-Infinity is no JSON number"),
        (b'{"a": 1e999}', "a number is too large"),
        (b'{"a": -' + b"9" * 21 + b"}", "an integer has more than 20 digits"),
        (b'{"a": 1, "b": 2, "a": 3}', "'a' stands twice"),
        (b'{"a": "\\ud800"}', "half a character"),
        (b'{"\\udfff": 1}', "half a character"),
        (b'{"a":' + b"[" * 65 + b"]" * 65 + b"}", "deeper than 64 levels"),
        (b"[" * 100_000, "deeper than 64 levels"),
        (b" " * (256 * 1024 + 1), "longer than 256 KiB"),
    ],
)
def test_what_breaks_a_rule_is_refused_with_its_reason(raw, reason):
    with pytest.raises(UnitError, match=reason) as caught:
        parse_document(raw, subject="http://unit.local/")
    assert caught.value.subject == "http://unit.local/"
    assert caught.value.next_step


def test_odd_values_become_empty_ones():
    assert as_object([1]) == {}
    assert as_array(None) == []
    assert as_array("x") == ["x"]
    assert as_texts(["a", 1, "b"]) == ["a", "b"]
    assert as_texts("a") == ["a"]


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Hall \u202eunit\u202c\0\x1b[2J", "Hall unit[2J"),
        ("one\r\ntwo\tthree", "one two three"),
        ("<b>loud</b>", "‹b›loud‹/b›"),
        ("a" + "\u0301" * 50, "a\u0301\u0301"),
        ("Küche – 2. Stock", "Küche – 2. Stock"),
        ("\u2066\u2069", ""),
    ],
)
def test_text_is_made_safe_to_show(text, shown):
    assert plain_text(text) == shown


def test_long_text_is_cut_and_says_so():
    assert plain_text("abcdefgh " * 100_000, 10) == "abcdefgh…"


@pytest.mark.parametrize(
    ("number", "shown"),
    [(2**53 - 1, 2**53 - 1), (2.5, 2), (2**53, "9.00720e+15"), (10**400, "1.00000e+400")],
)
def test_a_number_that_not_every_program_keeps_exactly_is_shown_in_words(number, shown):
    assert plain_number(number) == shown

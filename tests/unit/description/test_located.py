import pytest

from fleet.description.located import FileMistakeError, read_located

TEXT = """{
 "a": [1,
   {"b": {}}, []
 ],
 "c\\u0041": "x,{}[]:\\"",

 "d": {"e": null}
}
"""


def test_every_member_and_entry_has_its_line():
    located = read_located(TEXT.encode(), "f.json")
    assert located.value == {"a": [1, {"b": {}}, []], "cA": 'x,{}[]:"', "d": {"e": None}}
    assert dict(located.lines) == {
        (): 1,
        ("a",): 2,
        ("a", 0): 2,
        ("a", 1): 3,
        ("a", 1, "b"): 3,
        ("a", 2): 3,
        ("cA",): 5,
        ("d",): 7,
        ("d", "e"): 7,
    }
    assert located.last_line == 9
    assert located.line_of(("d", "f", 3)) == 7
    assert located.line_of(("z",)) == 1


def test_line_ends_of_any_system_and_a_byte_order_mark_are_taken():
    located = read_located(b'\xef\xbb\xbf{\r\n"a":\r\n1}', "f.json")
    assert located.lines[("a",)] == 2


@pytest.mark.parametrize(
    ("raw", "line", "reason"),
    [
        (b'{\n"a": 1,\n}', 2 + 1, "no JSON"),
        (b'{\n"a" 1}', 2, "no JSON"),
        (b"", 1, "no JSON"),
        (b'{\n\n"a": "\xff"}', 3, "no UTF-8"),
        (b'{\n"a": 1,\n"b": 2,\n"a": 3}', 4, "'a' stands twice"),
        (b'{"x": {"a": 1},\n"y": {"a": 1, "a": {}}}', 2, "'a' stands twice"),
        (b"[1,\n\nNaN]", 3, "NaN is no JSON number"),
        (b"[1,\n1e999]", 2, "too large"),
        (b"[1,\n" + b"1" * 30 + b"]", 2, "more than 20 digits"),
        (b"[" + b"1" * 5000 + b"]", 1, "too many digits"),
        (b'["",\n"\\ud800"]', 2, "half a character"),
        (b"[\n" * 70 + b"]" * 70, 66, "nests deeper than 64"),
        (b"[" * 90_000, 1, "nests deeper"),
        (b" " * (256 * 1024 + 1), 1, "longer than 256 KiB"),
    ],
)
def test_a_mistake_is_told_with_its_line(raw, line, reason):
    with pytest.raises(FileMistakeError, match=reason) as caught:
        read_located(raw, "f.json")
    assert caught.value.line == line
    assert str(caught.value).startswith(f"f.json:{line}: ")

import pytest

from fleet.description.pointers import read_pointer, value_at, written

# RFC 6901 §5: the document and the values of its examples.
DOCUMENT = {
    "foo": ["bar", "baz"],
    "": 0,
    "a/b": 1,
    "c%d": 2,
    "e^f": 3,
    "g|h": 4,
    "i\\j": 5,
    'k"l': 6,
    " ": 7,
    "m~n": 8,
}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("", DOCUMENT),
        ("/foo", ["bar", "baz"]),
        ("/foo/0", "bar"),
        ("/", 0),
        ("/a~1b", 1),
        ("/c%d", 2),
        ("/e^f", 3),
        ("/g|h", 4),
        ("/i\\j", 5),
        ('/k"l', 6),
        ("/ ", 7),
        ("/m~0n", 8),
    ],
)
def test_the_examples_of_rfc_6901_hold(text, value):
    steps = read_pointer(text)
    assert value_at(steps, DOCUMENT) == value
    assert written(steps) == text


@pytest.mark.parametrize("text", ["foo", "/a~", "/a~2", "/a" * 65])
def test_what_is_no_pointer_is_refused(text):
    with pytest.raises(ValueError, match="a JSON pointer"):
        read_pointer(text)


@pytest.mark.parametrize("text", ["/no", "/foo/2", "/foo/00", "/foo/-", "/foo/-1", "/a~1b/x"])
def test_where_nothing_stands_nothing_is_found(text):
    with pytest.raises(LookupError):
        value_at(read_pointer(text), DOCUMENT)

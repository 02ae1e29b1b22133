import pytest

from fleet.model.errors import RecordError
from fleet.signing.canonical import canonical_bytes


def test_members_are_sorted_and_texts_are_composed():
    assert canonical_bytes({"b": "a\u0308", "a": [1, True]}) == '{"a":[1,true],"b":"ä"}'.encode()


@pytest.mark.parametrize(
    ("member", "said"),
    [
        (1.5, "is float, not an integer"),
        (None, "is NoneType"),
        (2**53, "larger than every reader"),
        ("\ud800", "holds half a character"),
        ({"a\u0308": 1, "ä": 2}, "has two members named 'ä'"),
        ({1: 2}, "has a member named 1, which is no word"),
    ],
)
def test_what_cant_be_signed_is_named_by_its_place(member, said):
    with pytest.raises(RecordError) as caught:
        canonical_bytes({"list": [0, member]}, "manifest")
    assert caught.value.what.startswith("manifest.list[1] ")
    assert said in caught.value.what

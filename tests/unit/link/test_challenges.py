import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.link.challenges import Challenge, read_challenges
from fleet.link.digest import answerable


@pytest.mark.parametrize(
    ("headers", "found"),
    [
        ([], []),
        (["Basic"], [("basic", {})]),
        (['Basic realm="a, b=c"'], [("basic", {"realm": "a, b=c"})]),
        (["Basic realm=x, Digest realm=y , nonce=z"],
         [("basic", {"realm": "x"}), ("digest", {"realm": "y", "nonce": "z"})]),
        (["Basic realm=x", "Bearer"], [("basic", {"realm": "x"}), ("bearer", {})]),
        ([r'Digest NONCE = "a\"b\\", nonce=second'], [("digest", {"nonce": 'a"b\\'})]),
        (["realm=x, Basic realm=y"], [("basic", {"realm": "y"})]),
        (['Basic realm="never closed'], [("basic", {}), ("realm", {}), ("never", {}), ("closed", {})]),
        (["Basic " * 100], [("basic", {})] * 8),
    ],
)  # fmt: skip
def test_challenges_are_read(headers, found):
    assert read_challenges(headers) == tuple(Challenge(kind, said) for kind, said in found)


@given(st.lists(st.text(max_size=200), max_size=4))
def test_whatever_stands_in_a_header_is_read_without_failing(headers):
    found = read_challenges(headers)
    assert len(found) <= 8
    assert all(one.kind == one.kind.lower() for one in found)


@pytest.mark.parametrize(
    "header",
    [
        "Basic realm=x",
        "Digest nonce=n",
        'Digest realm=r, nonce=""',
        "Digest realm=r, nonce=n, algorithm=SHA-512-256",
        "Digest realm=r, nonce=n, qop=odd",
        'Digest realm="a\x07b", nonce=n',
    ],
)
def test_what_cannot_be_answered_is_passed_over(header):
    assert answerable(read_challenges([header])) is None

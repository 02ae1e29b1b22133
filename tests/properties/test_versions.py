"""The order of versions is an order, whatever is written in them; what is no version has none."""

from functools import cmp_to_key
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from fleet.jobs.versions import compared, version_from

numbers = st.integers(0, 30).map(str)
identifiers = st.one_of(
    numbers, st.from_regex(r"[0-9A-Za-z-]*[A-Za-z-][0-9A-Za-z-]*", fullmatch=True)
)
cores = st.tuples(numbers, numbers, numbers).map(".".join)


def lists_after(sign):
    return st.one_of(
        st.just(""),
        st.lists(identifiers, min_size=1, max_size=4).map(lambda parts: sign + ".".join(parts)),
    )


versions = st.builds("{}{}{}".format, cores, lists_after("-"), lists_after("+"))


@given(versions)
def test_what_is_built_by_the_specification_is_read(text):
    assert version_from(text) is not None


@given(versions, versions)
def test_turning_two_around_turns_their_order_around(one, other):
    order = compared(one, other)
    assert order is not None
    assert compared(other, one) == -order


@given(st.lists(versions, max_size=6))
def test_sorted_by_neighbours_every_version_comes_after_all_before_it(texts):
    ordered = sorted(texts, key=cmp_to_key(compared))
    assert all(compared(one, other) in (-1, 0) for one, other in combinations(ordered, 2))


@given(versions)
def test_a_version_comes_before_its_release_or_is_it(text):
    core = text.partition("+")[0].partition("-")[0]
    assert compared(text, core) == (-1 if version_from(text).before else 0)


@given(st.text(max_size=20))
def test_any_text_is_answered_and_what_is_no_version_has_no_order(text):
    known = version_from(text) is not None
    assert (compared(text, "1.0.0") is not None) is known
    assert compared(text, text) == 0

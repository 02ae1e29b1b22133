"""The order of versions against what Semantic Versioning 2.0.0 prints."""

from itertools import combinations

import pytest

from fleet.jobs.versions import compared, version_from

# Semantic Versioning 2.0.0, https://semver.org/spec/v2.0.0.html, §11.4 example, and §11.2's before it.
CHAIN = (
    "1.0.0-alpha",
    "1.0.0-alpha.1",
    "1.0.0-alpha.beta",
    "1.0.0-beta",
    "1.0.0-beta.2",
    "1.0.0-beta.11",
    "1.0.0-rc.1",
    "1.0.0",
)
NUMBERS = ("1.0.0", "2.0.0", "2.1.0", "2.1.1")

# §9 and §10 examples.
PRINTED_VALID = (
    "1.0.0-alpha",
    "1.0.0-alpha.1",
    "1.0.0-0.3.7",
    "1.0.0-x.7.z.92",
    "1.0.0-x-y-z.--",
    "1.0.0-alpha+001",
    "1.0.0+20130313144700",
    "1.0.0-beta+exp.sha.5114f85",
    "1.0.0+21AF26D3----117B344092BD",
    "1.9.0",
    "1.10.0",
    "1.11.0",
)

# §2: no leading zeros, three numbers; §9: no leading zeros in a number before the release, no empty
# identifier, ASCII letters, digits and hyphens alone; FAQ: "v1.2.3" is no semantic version.
INVALID = (
    "01.0.0",
    "1.0",
    "1.0.0-01",
    "v1.0.0",
    "1.00.0",
    "1.0.00",
    "1.0.0.0",
    "1.0.0-",
    "1.0.0-a..b",
    "1.0.0+",
    "1.0.0+a+b",
    "1.0.0-ä",
    "١.0.0",
    "1.0.0-²",
    " 1.0.0",
    "1.0.0\n",
    "-1.0.0",
    "+1.0.0",
    "1..0",
    "",
)


@pytest.mark.parametrize("chain", [CHAIN, NUMBERS])
def test_the_printed_chain_rises(chain):
    pairs = list(combinations(chain, 2))
    assert {compared(one, other) for one, other in pairs} == {-1}
    assert {compared(other, one) for one, other in pairs} == {1}


@pytest.mark.parametrize("text", PRINTED_VALID)
def test_a_printed_version_is_read(text):
    assert version_from(text) is not None


@pytest.mark.parametrize("text", INVALID)
def test_what_is_not_by_the_specification_has_no_order(text):
    assert version_from(text) is None
    assert compared(text, "1.0.0") is None
    assert compared("1.0.0", text) is None


def test_the_make_has_no_part_in_the_order():
    # §10: "1.0.0+a" and "1.0.0+b" have the same precedence
    assert compared("1.0.0+a", "1.0.0+b") == 0
    assert compared("1.0.0+001", "1.0.0") == 0
    assert compared("1.0.0-alpha+z", "1.0.0") == -1

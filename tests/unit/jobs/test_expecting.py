"""Expected against found, state by state."""

import pytest

from fleet.jobs.expecting import Met, expected_and_found
from fleet.model.meeting import LockedUnit, Meeting
from fleet.model.snapshot import LinkState
from tests.inventories import small_plan

PLAN = small_plan()  # U1 is S-1, U2 has no serial, U3 is S-3
AT = "http://192.0.2.7:80/td"


def states(met):
    return {
        line.label or line.serial or line.address: line.state
        for line in expected_and_found(PLAN, met)
    }


def test_nobody_met_yet():
    lines = expected_and_found(PLAN, Met(known_at={"S-3": AT}))
    assert [line.state for line in lines] == [Meeting.NOT_HEARD] * 3
    assert [line.said for line in lines] == [
        "It was never read.",
        "No serial is allotted to it yet.",
        f"Last read at {AT}.",
    ]


@pytest.mark.parametrize(
    ("link", "left", "state"),
    [
        (LinkState.LIVE, False, Meeting.MET),
        (LinkState.LIVE, True, Meeting.MET),
        (LinkState.QUIET, True, Meeting.MET),
        (LinkState.GONE, False, Meeting.GONE),
        (LinkState.GONE, True, Meeting.GONE),
        (LinkState.NEVER, False, Meeting.MET),
        (LinkState.NEVER, True, Meeting.GONE),
    ],
)
def test_a_live_stream_outranks_a_goodbye(link, left, state):
    met = Met(at={"S-1": AT}, links={"S-1": link}, left=frozenset({"S-1"} if left else ()))
    assert states(met)["U1"] is state


def test_a_unit_that_nobody_scheduled_is_told():
    (line,) = expected_and_found(PLAN, Met(at={"S-9": AT}))[3:]
    assert (line.serial, line.address, line.state) == ("S-9", AT, Meeting.UNEXPECTED)


def test_a_second_unit_of_one_serial_is_told_with_the_first_one():
    met = Met(at={"S-1": AT}, doubles={"S-1": ["http://b/"]}, unread={"http://b/": "a double."})
    (line,) = expected_and_found(PLAN, met)[3:]
    assert (line.address, line.state) == ("http://b/", Meeting.DOUBLE)
    assert AT in line.said


@pytest.mark.parametrize("refused", [True, False])
def test_a_locked_unit_stands_on_its_line_where_its_address_is_known(refused):
    locked = LockedUnit("urn:1", AT, "Unit", ("basic",), refused=refused)
    known = expected_and_found(PLAN, Met(locked=[locked], known_at={"S-3": AT}))
    assert (known[2].state, len(known)) == (Meeting.LOCKED, 3)
    assert ("refused" in known[2].said) is refused
    unknown = expected_and_found(PLAN, Met(locked=[locked]))
    assert (unknown[3].state, unknown[3].address) == (Meeting.LOCKED, AT)


def test_who_was_heard_and_not_read_is_told_with_the_reason():
    known = expected_and_found(PLAN, Met(unread={AT: "no description."}, known_at={"S-1": AT}))
    assert (known[0].state, known[0].said, len(known)) == (Meeting.HEARD, "no description.", 3)
    unknown = expected_and_found(PLAN, Met(unread={AT: "no description."}))
    assert (unknown[3].state, unknown[3].address) == (Meeting.HEARD, AT)


def test_a_locked_unit_without_a_title_is_told_all_the_same():
    (line,) = expected_and_found(PLAN, Met(locked=[LockedUnit("k", AT, "", ("basic",))]))[3:]
    assert line.said == "It wants a password."


def test_a_unit_that_claims_a_known_id_says_that_what_is_kept_was_for_elsewhere():
    locked = LockedUnit("http://192.0.2.7:80", AT, "", ("basic",), kept_under="urn:1")
    (line,) = expected_and_found(PLAN, Met(locked=[locked]))[3:]
    assert line.said.endswith("The one that is kept for it wasn't for this address.")

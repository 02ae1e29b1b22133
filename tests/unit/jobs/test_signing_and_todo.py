import pytest

from fleet.jobs.changes import pending_changes
from fleet.jobs.findings import findings_from_reading
from fleet.jobs.signing import refuse_unfit_signature
from fleet.jobs.todo import jobs_of
from fleet.model.errors import PlanError
from fleet.model.findings import ItemResult, Outcome, RoomResult
from fleet.model.snapshot import ItemState
from tests.unit.jobs.invented import PLAN, unit


def result(*outcomes, signed_by=""):
    items = [ItemResult(f"i{n}", "", "auto", o, "") for n, o in enumerate(outcomes)]
    items.append(ItemResult("acceptance", "", "signature", Outcome.NOT_TESTED, ""))
    return RoomResult("den", tuple(items), signed_by)


def test_a_room_all_shown_is_signed_by_a_named_person():
    refuse_unfit_signature(result(Outcome.PASS), "Den", "A. N.", "client", {})


@pytest.mark.parametrize(("name", "role"), [("", "client"), ("A. N.", " ")])
def test_nobody_in_particular_can_not_sign(name, role):
    with pytest.raises(PlanError, match="Den: a sign-off needs the name"):
        refuse_unfit_signature(result(Outcome.PASS), "Den", name, role, {})


@pytest.mark.parametrize("outcome", [Outcome.FAIL, Outcome.INCONCLUSIVE, Outcome.NOT_TESTED])
def test_what_is_not_shown_needs_an_exception_with_a_reason(outcome):
    room = result(Outcome.PASS, outcome)
    with pytest.raises(PlanError, match="not shown and not excepted: i1"):
        refuse_unfit_signature(room, "Den", "A. N.", "client", {"i1": "  "})
    refuse_unfit_signature(room, "Den", "A. N.", "client", {"i1": "curtains come later"})


def jobs(*units, rooms=None):
    findings = findings_from_reading(PLAN, units, {})
    return jobs_of(PLAN, units, pending_changes(units), findings, rooms or {})


def test_a_unit_as_planned_leaves_nothing_to_do():
    assert jobs(unit()) == ()


def test_drift_is_a_line_under_builds():
    (job,) = jobs(unit({"build.version": "1.8.0"}, {"build.version": "1.8.0"}))
    assert (job.group, job.unit, job.state) == ("builds", "U01", ItemState.LOOK)
    assert "2 builds behind" in job.reason


def test_a_moved_plan_is_reviewed_and_a_change_on_site_is_decided():
    (review,) = jobs(unit({"setting.hold_time_s": 45}, {"setting.hold_time_s": 45}))
    (decide,) = jobs(unit({"setting.hold_time_s": 45}))
    assert (review.action, review.state) == ("Review", ItemState.TO_DO)
    assert (decide.action, decide.state) == ("Decide", ItemState.LOOK)
    assert review.key != decide.key


def test_several_items_of_a_unit_are_one_line():
    (job,) = jobs(unit({"setting.hold_time_s": 45, "areas.sofa.label": "Couch"}))
    assert job.title == "U01 2 items"


def test_a_weak_link_is_a_snag():
    (job,) = jobs(unit(signal_dbm=-90))
    assert (job.group, job.title) == ("snags", "U01 weak link")


def test_rooms_wait_for_sign_off_until_they_are_signed():
    (open_room,) = jobs(rooms={"den": result(Outcome.PASS, Outcome.FAIL)})
    assert (open_room.group, open_room.state) == ("sign-off", ItemState.WRONG)
    assert open_room.reason == "1 of 3 shown, 1 failed"
    assert jobs(rooms={"den": result(Outcome.PASS, signed_by="A. N.")}) == ()

"""What became of an installation: by what the unit runs, and by how long it said nothing new."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.jobs.update_outcomes import Ending, Runs, Seen, StageLimits, judge, needs_build
from fleet.model.firmware import Installation, InstallState
from tests.shelves import IMAGE

LIMITS = StageLimits()
STAGED = Installation(InstallState.STAGED, 10, 10, IMAGE.sha256)
FAILED = Installation(InstallState.FAILED, digest=IMAGE.sha256, reason="power-loss")


def seen(state=None, runs=Runs.OLD, silent_s=0.0, **more):
    installation = state if isinstance(state, Installation) else Installation(state)
    parts = {"answers": True, "before": STAGED} | more
    return Seen(installation=installation, runs=runs, silent_s=silent_s, **parts)


def ending(what):
    return judge(what, IMAGE, LIMITS)[0]


def test_a_unit_that_runs_the_new_build_has_it_whatever_its_progress_says():
    for state in (None, *InstallState):
        assert ending(seen(state, Runs.NEW)) is Ending.NEW_BUILD


def test_a_new_build_that_is_not_confirmed_is_waited_for_and_then_lost():
    assert ending(seen(InstallState.CONFIRMING, Runs.NEW_UNCONFIRMED)) is Ending.GOES_ON
    late = seen(InstallState.CONFIRMING, Runs.NEW_UNCONFIRMED, LIMITS.confirming + 1)
    assert ending(late) is Ending.LOST


def test_a_failure_with_the_old_build_is_told_with_its_reason():
    what, why = judge(seen(FAILED), IMAGE, LIMITS)
    assert what is Ending.OLD_BUILD
    assert "power was cut" in why


def test_a_reason_that_nobody_knows_stands_as_the_unit_says_it():
    odd = Installation(InstallState.ROLLED_BACK, reason="moon phase")
    assert "moon phase" in judge(seen(odd), IMAGE, LIMITS)[1]


def test_an_old_failure_and_one_of_another_image_are_none_of_this_one():
    assert ending(seen(FAILED, before=FAILED)) is Ending.GOES_ON
    other = Installation(InstallState.FAILED, digest="00" * 32)
    assert ending(seen(other)) is Ending.GOES_ON
    assert ending(seen(other, silent_s=LIMITS.staged + 1)) is Ending.NOT_BEGUN


def test_a_third_build_is_nobodys():
    assert ending(seen(InstallState.COMPLETED, Runs.OTHER)) is Ending.LOST


@pytest.mark.parametrize(
    "state",
    [
        InstallState.FETCHING,
        InstallState.VERIFYING,
        InstallState.APPLYING,
        InstallState.REBOOTING,
        InstallState.CONFIRMING,
    ],
)
def test_a_stage_that_says_nothing_new_is_lost_only_after_its_limit(state):
    limit_s = LIMITS.of(state)
    assert ending(seen(state, None, limit_s)) is Ending.GOES_ON
    assert ending(seen(state, None, limit_s + 1)) is Ending.LOST


def test_a_unit_that_does_not_answer_is_starting_anew_and_then_lost():
    assert ending(seen(silent_s=LIMITS.rebooting, answers=False)) is Ending.GOES_ON
    what, why = judge(seen(silent_s=LIMITS.rebooting + 1, answers=False), IMAGE, LIMITS)
    assert (what, why) == (Ending.LOST, "it hasn't answered for 301 s")


def test_what_runs_is_read_once_the_unit_has_started_anew():
    assert not needs_build(Installation(InstallState.APPLYING))
    assert needs_build(Installation(InstallState.CONFIRMING))
    assert needs_build(Installation(InstallState.FAILED))


@given(
    st.sampled_from([None, *InstallState]),
    st.sampled_from([None, *Runs]),
    st.floats(0, 10_000),
    st.booleans(),
    st.sampled_from(["", IMAGE.sha256, "00" * 32]),
)
def test_nothing_goes_on_for_ever_and_new_is_said_of_new_alone(
    state, runs, silent_s, answers, digest
):
    installation = Installation(state, digest=digest)
    what = ending(seen(installation, runs, silent_s, answers=answers))
    if what is Ending.NEW_BUILD:
        assert answers
        assert runs is Runs.NEW
    if silent_s > 5_000:
        assert what is not Ending.GOES_ON

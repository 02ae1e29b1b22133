"""Gates: who stops a campaign when, and what no failure in so many units proves."""

from dataclasses import replace

import pytest

from fleet.jobs.gates import current_wave, proven, why_stopped, would_prove
from fleet.model.firmware import UnitUpdate, UpdateState, Wave

DONE, OLD, LOST = UpdateState.DONE, UpdateState.OLD_BUILD, UpdateState.NOT_RECOVERED
WAITING = UpdateState.WAITING


def campaign(*states):
    """Units as (wave, state)."""
    return [
        UnitUpdate(f"S{n}", f"N{n:03}", "k", wave, state, said="so it is")
        for n, (wave, state) in enumerate(states)
    ]


def test_a_campaign_without_failures_goes_on():
    assert why_stopped(campaign((Wave.BENCH, DONE), (Wave.ONE_A_KEY, WAITING))) == ""


@pytest.mark.parametrize("wave", [Wave.BENCH, Wave.ONE_A_KEY])
def test_the_first_failure_stops_in_the_first_two_waves(wave):
    said = why_stopped(campaign((wave, OLD), (Wave.REST, WAITING)))
    assert "N000 failed" in said
    assert wave.value in said


def test_in_the_later_waves_the_second_failure_stops_counted_over_both():
    one = campaign((Wave.QUARTER, OLD), (Wave.QUARTER, DONE), (Wave.REST, DONE))
    assert why_stopped(one) == ""
    assert "N000 and N002 failed" in why_stopped([*one[:2], replace(one[2], state=OLD)])


@pytest.mark.parametrize("wave", list(Wave))
def test_a_unit_that_is_not_recovered_stops_at_once(wave):
    assert "N000 isn't recovered" in why_stopped(campaign((wave, LOST), (Wave.REST, WAITING)))


def test_a_unit_in_doubt_stops_at_once():
    assert "in doubt" in why_stopped(campaign((Wave.REST, UpdateState.IN_DOUBT)))


def test_what_a_person_accepted_is_not_counted():
    failed = campaign((Wave.BENCH, OLD), (Wave.REST, LOST))
    assert why_stopped([replace(update, accepted=True) for update in failed]) == ""


def test_a_wave_in_which_nobody_runs_the_image_proves_nothing():
    refused = campaign((Wave.BENCH, UpdateState.REFUSED), (Wave.REST, WAITING))
    assert "proves nothing" in why_stopped(refused)
    already = campaign((Wave.BENCH, UpdateState.ALREADY), (Wave.REST, WAITING))
    assert why_stopped(already) == ""


def test_the_wave_whose_turn_it_is_has_a_unit_without_an_end():
    updates = campaign(
        (Wave.BENCH, DONE), (Wave.ONE_A_KEY, UpdateState.RUNNING), (Wave.REST, WAITING)
    )
    assert current_wave(updates) is Wave.ONE_A_KEY
    assert current_wave(campaign((Wave.REST, DONE))) is None


def test_no_failure_in_59_allows_about_3_in_59():
    # Exact one-sided bound with none failing: 1 - 0.05 ** (1/n); n = 59 is where it falls below 5 %.
    assert would_prove(59).startswith("no failure in 59 still allows 5.0 %")
    said = proven(campaign(*[(Wave.REST, DONE)] * 59))
    assert said.startswith("0 of 59 failed: with 95 % confidence at most 5.0 %")
    assert "3/59, says 5.1 %" in said


def test_failures_widen_what_is_allowed_and_refusals_are_no_trials():
    states = [(Wave.REST, DONE)] * 9 + [(Wave.REST, OLD), (Wave.REST, UpdateState.REFUSED)]
    # Clopper-Pearson, one failure in ten, one-sided 95 %: 39.4 % (Clopper and Pearson 1934).
    assert "1 of 10 failed: with 95 % confidence at most 39.4 %" in proven(campaign(*states))


def test_nothing_tried_proves_nothing():
    assert "nothing is proven" in proven(campaign((Wave.REST, WAITING)))

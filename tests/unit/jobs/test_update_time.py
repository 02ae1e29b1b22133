"""Time left: a rule of thumb at first, the median of what was measured afterwards."""

import pytest

from fleet.jobs.update_time import (
    campaign_left_s,
    duration,
    installation_ppm,
    left_s,
    unit_time_s,
)
from fleet.model.firmware import (
    Campaign,
    CampaignState,
    CampaignTerms,
    Installation,
    InstallState,
    UnitUpdate,
    UpdateState,
    Wave,
)
from tests.shelves import image


def campaign(*updates, dwell_s=120, at_once=4):
    big = image(size_bytes=1_000_000)
    terms = CampaignTerms(at_once=at_once, dwell_s=dwell_s)
    return Campaign(1, big, CampaignState.RUNNING, updates, "T", "", terms)


def update(number=0, wave=Wave.REST, state=UpdateState.WAITING, **more):
    return UnitUpdate(f"S{number}", f"N{number}", "k", wave, state, **more)


def test_before_a_unit_was_measured_bytes_and_a_minute_and_the_dwell_count():
    assert unit_time_s(campaign(update())) == 10 + 60 + 120


def test_afterwards_the_median_of_those_that_were_done_counts():
    done = [update(n, state=UpdateState.DONE, took_s=took) for n, took in enumerate((30, 90, 50))]
    failed = update(3, state=UpdateState.OLD_BUILD, took_s=1)
    assert unit_time_s(campaign(*done, failed)) == 50


def test_a_running_unit_has_less_left_and_an_ended_one_nothing():
    assert left_s(update(), 100) == 100
    assert left_s(update(state=UpdateState.RUNNING, done_ppm=250_000), 100) == 75
    assert left_s(update(state=UpdateState.DONE), 100) == 0


def test_the_first_waves_go_one_by_one_and_the_later_ones_at_their_rate():
    measured = update(0, Wave.BENCH, UpdateState.DONE, took_s=100)
    ones = [update(n, Wave.ONE_A_KEY) for n in (1, 2)]
    rest = [update(n) for n in range(3, 11)]
    assert campaign_left_s(campaign(measured, *ones, *rest)) == 200 + 200
    assert campaign_left_s(campaign(measured, update(1))) == 100


@pytest.mark.parametrize(
    ("installation", "sent", "ppm"),
    [
        (Installation(), 0, 0),
        (Installation(InstallState.IDLE), 50, 250_000),
        (Installation(InstallState.FETCHING, 25, 100), 100, 125_000),
        (Installation(InstallState.STAGED, 100, 100), 100, 500_000),
        (Installation(InstallState.APPLYING, 50, 100), 100, 625_000),
        (Installation(InstallState.APPLYING, 500, 0), 100, 750_000),
        (Installation(InstallState.REBOOTING), 100, 750_000),
        (Installation(InstallState.CONFIRMING), 100, 850_000),
    ],
)
def test_progress_comes_from_the_unit_and_from_what_left(installation, sent, ppm):
    assert installation_ppm(installation, sent_bytes=sent, size_bytes=100) == ppm


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(0, "0 s"), (89, "89 s"), (90, "2 min"), (3540, "59 min"), (7500, "2 h 05 min")],
)
def test_a_time_is_written_for_a_person(seconds, said):
    assert duration(seconds) == said

from dataclasses import replace

import pytest

from fleet.model.findings import FindingKind, Outcome
from fleet.model.house import EarlierVisit, SoakNote
from fleet.trials.soak import judge_soak, soak_findings
from tests.unit.jobs.invented import PLAN, READ_AT

HOUR_S = 3600


@pytest.mark.parametrize(
    ("hours", "episodes", "outcome"),
    [
        (1, 0, Outcome.INCONCLUSIVE),  # χ²: at most 72 a day
        (12, 0, Outcome.PASS),  # 5.99
        (12, 11, Outcome.FAIL),  # at least 12.3
        (24, 2, Outcome.INCONCLUSIVE),  # 6.30 at most
    ],
)
def test_a_soak_is_judged_by_its_bounds(hours, episodes, outcome):
    assert judge_soak(SoakNote("U01", hours * HOUR_S, episodes)).outcome is outcome


def test_an_hour_without_an_episode_is_told_with_its_bound():
    visit = EarlierVisit(READ_AT, "x", soaks=(SoakNote("U01", HOUR_S, 0),))
    (finding,) = soak_findings(replace(PLAN, visits=(visit,)))
    assert (finding.kind, finding.unit, finding.room) == (
        FindingKind.SOAK_INCONCLUSIVE,
        "U01",
        "den",
    )
    assert finding.evidence["upper_per_day"] == 72


def test_soaks_that_pass_or_were_never_held_are_no_finding():
    visit = EarlierVisit(READ_AT, "x", soaks=(SoakNote("U01", 12 * HOUR_S, 0),))
    assert soak_findings(replace(PLAN, visits=(visit,))) == ()
    assert soak_findings(PLAN) == ()

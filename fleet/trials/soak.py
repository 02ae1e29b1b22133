"""The soak trial: how often a unit says that somebody is there while nobody is.

Episodes over confirmed-empty time follow a Poisson law; the verdict rests on its 95 % bounds, so an hour
without an episode proves little and says so.
"""

from dataclasses import dataclass

from fleet.model.findings import Finding, FindingKind, Outcome
from fleet.model.house import HousePlan, SoakNote
from fleet.numerics.rates import lower_rate, upper_rate

ALLOWED_PER_DAY = 6.0
DAY_S = 86_400


@dataclass(frozen=True, slots=True)
class SoakVerdict:
    """A soak's outcome with its bounds, false episodes a day, one-sided 95 %."""

    outcome: Outcome
    upper_per_day: float
    lower_per_day: float


def judge_soak(note: SoakNote) -> SoakVerdict:
    """Judge a soak: pass when the upper bound is at most 6 a day, fail when the lower one is above."""
    days = note.empty_s / DAY_S
    upper, lower = upper_rate(note.episodes, days), lower_rate(note.episodes, days)
    if upper <= ALLOWED_PER_DAY:
        return SoakVerdict(Outcome.PASS, upper, lower)
    failed = lower > ALLOWED_PER_DAY
    return SoakVerdict(Outcome.FAIL if failed else Outcome.INCONCLUSIVE, upper, lower)


def soak_findings(plan: HousePlan) -> tuple[Finding, ...]:
    """List the soaks of the last visit that prove nothing either way."""
    lines = {line.label: line for line in plan.units}
    notes = plan.visits[-1].soaks if plan.visits else ()
    return tuple(
        _inconclusive(lines[note.unit].room, note, verdict)
        for note in notes
        if (verdict := judge_soak(note)).outcome is Outcome.INCONCLUSIVE
    )


def _inconclusive(room: str, note: SoakNote, verdict: SoakVerdict) -> Finding:
    hours = note.empty_s / 3600
    return Finding(
        room,
        note.unit,
        FindingKind.SOAK_INCONCLUSIVE,
        f"{note.episodes} false episodes in {hours:g} h empty still allow "
        f"{verdict.upper_per_day:.0f} a day; {ALLOWED_PER_DAY:g} are allowed",
        {
            "empty_s": note.empty_s,
            "episodes": note.episodes,
            "upper_per_day": round(verdict.upper_per_day),
            "allowed_per_day": round(ALLOWED_PER_DAY),
        },
    )

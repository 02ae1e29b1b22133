"""Whether a campaign may go on, and what its results prove.

1. A unit passes when it runs the new build, confirmed, with settings and areas read back as they were
   found, and reported well for the dwell time. Every other end after a byte went out is a failure.
2. Any unit that isn't recovered, or can't be read after it was cut off, stops the campaign at once.
3. In the bench wave and the one of each kind the first failure stops it, in the later ones the second,
   counted over both.
4. A wave ends only when all its units have an end. One in which no unit runs the image proves nothing, and
   the campaign waits there as well.
5. A failure that a person accepted, with a reason, isn't counted any more.
"""

from collections.abc import Iterable, Sequence

from fleet.jobs.waves import ONE_BY_ONE
from fleet.model.firmware import UnitUpdate, UpdateState, Wave
from fleet.numerics.proportions import lower_bound

OPEN = (UpdateState.WAITING, UpdateState.RUNNING, UpdateState.IN_DOUBT)
FAILED = (UpdateState.OLD_BUILD, UpdateState.NOT_RECOVERED)
RUN_IT = (UpdateState.DONE, UpdateState.ALREADY)
MOST_LATER = 2
"""At which failure the later waves stop."""


def why_stopped(updates: Sequence[UnitUpdate]) -> str:
    """Say why a campaign may not go on; "" where it may. Ask again after each unit that has an end."""
    for update in updates:
        if update.state is UpdateState.IN_DOUBT:
            return f"{update.label} is in doubt: {update.said}."
        if update.state is UpdateState.NOT_RECOVERED and not update.accepted:
            return f"{update.label} isn't recovered: {update.said}"
    early = _failed(updates, ONE_BY_ONE)
    if early:
        first = early[0]
        said = (
            f"{first.label} failed in the wave {first.wave.value!r}, where the first failure stops"
        )
        return f"{said}: {first.said}"
    later = _failed(updates, (Wave.QUARTER, Wave.REST))
    if len(later) >= MOST_LATER:
        labels = " and ".join(update.label for update in later)
        return f"{labels} failed, and in the later waves the second failure stops."
    return _proving_nothing(updates)


def current_wave(updates: Iterable[UnitUpdate]) -> Wave | None:
    """Return the wave whose turn it is; None once every unit has an end."""
    return next((update.wave for update in updates if update.state in OPEN), None)


def proven(updates: Iterable[UnitUpdate]) -> str:
    """Say in words what the units that were updated so far prove of all others of their kinds."""
    tried = [update for update in updates if update.state in (UpdateState.DONE, *FAILED)]
    failed = sum(update.state in FAILED for update in tried)
    if not tried:
        return "No unit was updated yet: nothing is proven."
    most = 1 - lower_bound(len(tried) - failed, len(tried))
    said = f"{failed} of {len(tried)} failed: with 95 % confidence at most {_percent(most)} of such"
    rule = "" if failed else f" (the rule of thumb for none, 3/{len(tried)}, says {_thumb(tried)})"
    return f"{said} updates fail{rule}."


def would_prove(count: int) -> str:
    """Say what no failure in so many units would prove."""
    most = 1 - lower_bound(count, count)
    return f"no failure in {count} still allows {_percent(most)} of such updates to fail"


def _failed(updates: Iterable[UnitUpdate], waves: Iterable[Wave]) -> list[UnitUpdate]:
    wanted = tuple(waves)
    return [
        update
        for update in updates
        if update.wave in wanted and update.state in FAILED and not update.accepted
    ]


def _proving_nothing(updates: Sequence[UnitUpdate]) -> str:
    for wave in Wave:
        members = [update for update in updates if update.wave is wave]
        ended = bool(members) and all(update.state not in OPEN for update in members)
        accepted = any(update.accepted for update in members)
        if ended and not accepted and not any(update.state in RUN_IT for update in members):
            return f"no unit of the wave {wave.value!r} runs the image now, so it proves nothing."
    return ""


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"


def _thumb(tried: Sequence[UnitUpdate]) -> str:
    return _percent(min(1.0, 3 / len(tried)))

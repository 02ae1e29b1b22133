"""How long the units of a campaign may still take: from bytes and from times that were measured.

Until one unit was updated, a rule of thumb serves (ours, no source): 100 kB a second on Wi-Fi, and a minute
for checking, writing and starting anew. From then on the median of those that were measured counts.
"""

from collections.abc import Sequence
from statistics import median

from fleet.jobs.waves import ONE_BY_ONE
from fleet.model.firmware import Campaign, Installation, InstallState, UnitUpdate, UpdateState

THUMB_BYTES_A_S = 100_000
THUMB_REST_S = 60
LEAST_IN_MINUTES_S = 90
"""Up to a minute and a half, seconds say more than a rounded minute."""
SENT_PPM, WRITTEN_PPM, CHECKED_PPM = 500_000, 250_000, 850_000


def unit_time_s(campaign: Campaign) -> int:
    """Return how long a unit of a campaign takes, dwell included, house seconds."""
    took = [update.took_s for update in campaign.updates if _measured(update)]
    if measured := [one for one in took if one is not None]:
        return max(1, round(median(measured)))
    sending_s = campaign.image.size_bytes / THUMB_BYTES_A_S
    return max(1, round(sending_s + THUMB_REST_S + campaign.terms.dwell_s))


def left_s(update: UnitUpdate, whole_s: int) -> int:
    """Return how long a unit may still take: all of it while it waits, nothing once it has an end."""
    match update.state:
        case UpdateState.WAITING:
            return whole_s
        case UpdateState.RUNNING | UpdateState.IN_DOUBT:
            return round(whole_s * (1 - (update.done_ppm or 0) / 1e6))
    return 0


def campaign_left_s(campaign: Campaign) -> int:
    """Return how long a whole campaign may still take, wave by wave at its rate."""
    whole_s = unit_time_s(campaign)
    waves: dict[str, list[UnitUpdate]] = {}
    for update in campaign.updates:
        waves.setdefault(update.wave, []).append(update)
    return sum(_wave_left_s(members, whole_s, campaign.terms.at_once) for members in waves.values())


def installation_ppm(installation: Installation, *, sent_bytes: int, size_bytes: int) -> int:
    """Return how far a unit's update got, by its own progress and by what has left here.

    Half of it counts for the octets, a quarter for writing them to flash, the rest for starting anew and
    being checked (shares of ours, no source).
    """
    done, total = installation.done_bytes or 0, installation.total_bytes or size_bytes
    match installation.state:
        case InstallState.VERIFYING | InstallState.STAGED:
            return SENT_PPM
        case InstallState.APPLYING:
            return SENT_PPM + round(WRITTEN_PPM * min(1.0, done / max(1, total)))
        case InstallState.REBOOTING:
            return SENT_PPM + WRITTEN_PPM
        case InstallState.CONFIRMING | InstallState.COMPLETED:
            return CHECKED_PPM
        case InstallState.FETCHING:
            return round(SENT_PPM * min(1.0, done / max(1, total)))
    return round(SENT_PPM * min(1.0, sent_bytes / max(1, size_bytes)))


def duration(seconds: int) -> str:
    """Write a time for a person: "40 s", "12 min", "3 h 05 min"."""
    if seconds < LEAST_IN_MINUTES_S:
        return f"{seconds} s"
    minutes = round(seconds / 60)
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02} min" if hours else f"{minutes} min"


def _wave_left_s(members: Sequence[UnitUpdate], whole_s: int, at_once: int) -> int:
    each = [left_s(update, whole_s) for update in members]
    rate = 1 if members[0].wave in ONE_BY_ONE else max(1, at_once)
    return max(round(sum(each) / rate), max(each, default=0))


def _measured(update: UnitUpdate) -> bool:
    return update.state is UpdateState.DONE and update.took_s is not None

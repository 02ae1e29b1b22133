"""A campaign in words: its waves before it begins, a line a unit while it goes on, how it stands."""

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from fleet.cli.saying import table
from fleet.engine.campaign_plan import CampaignPlan
from fleet.jobs.gates import OPEN, proven, would_prove
from fleet.jobs.update_time import campaign_left_s, duration, left_s, unit_time_s
from fleet.jobs.update_words import disruption, support
from fleet.jobs.waves import ONE_BY_ONE
from fleet.model.firmware import Campaign, CampaignState, UnitUpdate, Wave

PPM_A_PERCENT = 10_000


def plan_in_words(plan: CampaignPlan, rooms: Mapping[str, str], today: date) -> str:
    """Say what a campaign would do."""
    image = plan.image
    lines = [
        f"{image.version}, sequence {image.sequence}, {image.size_bytes:,} bytes: {image.file}"
    ]
    lines += [f"notes: {image.notes}"] if image.notes else []
    lines += [support(image, today), disruption(at_once=plan.terms.at_once)]
    if plan.terms.allow_downgrade:
        why = plan.terms.downgrade_why or "none given yet"
        lines.append(f"CAUTION: units may go back to an older build. Reason: {why}")
    for wave in Wave:
        members = [update for update in plan.updates if update.wave is wave]
        if members:
            lines += _wave_in_words(wave, members, rooms, plan.terms.at_once)
    lines += _left_out(plan)
    if plan.updates:
        lines.append(_outlook(plan))
    else:
        lines.append("No unit is left to update.")
    return "\n".join(lines)


def step_in_words(campaign: Campaign, update: UnitUpdate) -> str:
    """Say what just happened to a unit: what was begun, or how it ended."""
    if update.state in OPEN:
        return f"{update.label}: {update.stage or update.state}"
    ended = sum(one.state not in OPEN for one in campaign.updates)
    left = "".join(f", {words}" for words in _left(campaign))
    rest = f"{ended} of {len(campaign.updates)}{left}"
    return f"{update.label}: {update.state}: {update.said} ({rest})"


def end_in_words(campaign: Campaign) -> str:
    """Say how a campaign stands, and what to do."""
    head = f"Campaign {campaign.number} ({campaign.image.version}): {campaign.state}."
    said = campaign.said or proven(campaign.updates)
    return "\n".join(line for line in (head, said, _next_step(campaign)) if line)


def status_in_words(campaign: Campaign) -> str:
    """Say how each unit of a campaign stands."""
    rows: list[tuple[str, ...]] = [("unit", "wave", "how it stands", "left", "")]
    whole_s = unit_time_s(campaign)
    for update in campaign.updates:
        left = duration(left_s(update, whole_s)) if update.state in OPEN else ""
        stage = f" ({update.stage})" if update.state in OPEN and update.stage else ""
        rows.append((update.label, update.wave, f"{update.state}{stage}", left, update.said))
    counts = Counter(update.state for update in campaign.updates)
    summed = ", ".join(f"{count} {state}" for state, count in counts.items())
    rest = [f"{words.capitalize()}." for words in _left(campaign)]
    return "\n".join([table(rows), summed, *rest, end_in_words(campaign)])


def status_document(campaign: Campaign) -> dict[str, Any]:
    """Return how a campaign stands as the documented JSON of this verb."""
    whole_s = unit_time_s(campaign)
    return {
        "number": campaign.number,
        "version": campaign.image.version,
        "image_sha256": campaign.image.sha256,
        "state": campaign.state.value,
        "said": campaign.said,
        "by": campaign.by,
        "left_s": campaign_left_s(campaign),
        "proven": proven(campaign.updates),
        "units": [
            {
                "label": update.label,
                "serial": update.serial,
                "wave": update.wave.value,
                "state": update.state.value,
                "stage": update.stage.value,
                "said": update.said,
                "took_s": update.took_s,
                "left_s": left_s(update, whole_s),
                "accepted": update.accepted,
            }
            for update in campaign.updates
        ],
    }


def _left(campaign: Campaign) -> list[str]:
    """Say how long it may still take; nothing where nobody is left."""
    left_s = campaign_left_s(campaign)
    return [f"about {duration(left_s)} left"] if left_s else []


def _left_out(plan: CampaignPlan) -> list[str]:
    """Say who is left out, a line a reason."""
    by_reason: dict[str, list[str]] = {}
    for label, why in plan.left_out.items():
        by_reason.setdefault(why, []).append(label)
    return [f"left out: {', '.join(labels)}: {why}." for why, labels in by_reason.items()]


def _wave_in_words(
    wave: Wave, members: Sequence[UnitUpdate], rooms: Mapping[str, str], at_once: int
) -> list[str]:
    how = "one after another" if wave in ONE_BY_ONE else f"up to {at_once} at once"
    head = f"{wave} ({len(members)}, {how}; {would_prove(len(members))}):"
    where = (rooms.get(update.room, "on the bench") for update in members)
    lines = [
        f"  {update.label}  {room}  {update.key}"
        for update, room in zip(members, where, strict=True)
    ]
    return [head, *lines]


def _outlook(plan: CampaignPlan) -> str:
    campaign = Campaign(0, plan.image, CampaignState.PAUSED, plan.updates, "", "", plan.terms)
    left = duration(campaign_left_s(campaign))
    stops = "the first failure in the first two waves stops it, the second in the later ones"
    return f"About {left}. {stops.capitalize()}, and any unit that isn't recovered."


def _next_step(campaign: Campaign) -> str:
    match campaign.state:
        case CampaignState.AT_GATE:
            return (
                "Look into it. Then go on: walkdown campaign resume --why REASON; or end it: "
                "walkdown campaign stop."
            )
        case CampaignState.PAUSED:
            return "Go on: walkdown campaign resume."
        case CampaignState.RUNNING:
            return "Where no program runs it any more, it was cut off: walkdown campaign resume."
    return ""

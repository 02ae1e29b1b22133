"""How drift and visits are said: in words, and as the JSON of `walkdown drift --json`."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from fleet.cli.saying import table
from fleet.jobs.drift import HouseDrift, UnitDrift
from fleet.jobs.visits import UnitLeft, VisitPlan
from fleet.model.all_sites import SiteUnit
from fleet.model.clock import to_rfc3339
from fleet.model.firmware import Image
from fleet.shelf.manifest import printable

RULE_OF_THUMB = "a rule of thumb (common practice, no source), without travel"
HOURS_S, DAYS_S = 3_600, 86_400
CLOCK_SLACK_S = 60
"""A reading dated further ahead means that a clock was set back, so its age isn't known."""


def house_document(house: HouseDrift) -> dict[str, Any]:
    """Return a house's drift as the documented JSON of the verb."""
    return {
        "site": house.site,
        "demo": house.demo,
        "units": [
            {
                **_unit_document(drift.unit),
                "stands": drift.word.value,
                "behind": drift.behind,
                "approved": drift.approved,
                "reasons": list(drift.reasons),
                "age_s": drift.age_s,
                "support_ended": drift.support_ended.isoformat() if drift.support_ended else None,
            }
            for drift in house.units
        ],
    }


def _unit_document(unit: SiteUnit) -> dict[str, Any]:
    return {
        "unit": unit.label,
        "serial": unit.serial,
        "room": unit.room,
        "version": unit.found.get("build.version"),
        "read_at": to_rfc3339(unit.read_at) if unit.read_at else None,
    }


def house_in_words(house: HouseDrift) -> str:
    """Say how the builds of a house stand, a line a unit."""
    counts = ", ".join(f"{count} {word.value}" for word, count in house.counts.items())
    rows = [(_stands(drift), _read(drift), _what(drift)) for drift in house.units]
    named = _site_in_words(house.site, demo=house.demo)
    listed = [f"  {line}" for line in table(list(rows)).splitlines()] if rows else []
    return "\n".join([f"{named}: {counts or 'no units'}", *listed])


def _what(drift: UnitDrift) -> str:
    return f"{drift.unit.room}, {drift.unit.label}: {'; '.join(drift.reasons)}"


def _stands(drift: UnitDrift) -> str:
    return drift.word.value if drift.behind is None else f"{drift.word.value} by {drift.behind}"


def _read(drift: UnitDrift) -> str:
    if drift.age_s is None:
        return "never read"
    return (
        "read later than now" if drift.age_s < -CLOCK_SLACK_S else f"read {_age(drift.age_s)} ago"
    )


def _age(age_s: int) -> str:
    if age_s < 2 * HOURS_S:
        return f"{max(age_s, 0) // 60} min"
    return f"{age_s // HOURS_S} h" if age_s < 2 * DAYS_S else f"{age_s // DAYS_S} days"


def _site_in_words(name: str, *, demo: bool) -> str:
    return name + (" (demo, invented)" if demo else "")


def visits_document(image: Image, visits: Sequence[VisitPlan], now: datetime) -> dict[str, Any]:
    """Return the visits for a build as the documented JSON of the verb."""
    return {
        "image": {"version": image.version, "sequence": image.sequence, "sha256": image.sha256},
        "at": to_rfc3339(now),
        "minutes_are": RULE_OF_THUMB,
        "visits": [
            {
                "site": visit.site,
                "address": visit.address,
                "demo": visit.demo,
                "minutes": visit.minutes,
                "oldest_reading_s": visit.oldest_s,
                "to_update": [_unit_document(unit) for unit in visit.to_update],
                "needs_word": [_left_document(left) for left in visit.needs_word],
                "left": [_left_document(left) for left in visit.left],
                "unread": [_unit_document(unit) for unit in visit.unread],
            }
            for visit in visits
        ],
    }


def _left_document(left: UnitLeft) -> dict[str, Any]:
    return {**_unit_document(left.unit), "because": left.because}


def visits_in_words(image: Image, visits: Sequence[VisitPlan]) -> list[str]:
    """Say which houses to visit for a build, and what each visit would take."""
    units = f"{', '.join(image.hardware_revisions)}; {', '.join(image.module_types)}"
    head = printable(f"{image.version} for {units}")
    if not visits:
        return [f"{head}: no house to visit"]
    lines = [f"{head}: {len(visits)} to visit; minutes are {RULE_OF_THUMB}"]
    for visit in visits:
        named = _site_in_words(visit.site, demo=visit.demo)
        counts = f"{len(visit.to_update)} to update, {len(visit.needs_word)} wait for a word"
        lines.append(f"  {named}: about {visit.minutes} min: {counts}{_oldest(visit)}")
        lines += [f"    {unit.label} in {unit.room}" for unit in visit.to_update]
        lines += [
            f"    {one.unit.label}: {one.because}" for one in (*visit.needs_word, *visit.left)
        ]
        lines += [f"    {unit.label} in {unit.room} was never read" for unit in visit.unread]
    return lines


def _oldest(visit: VisitPlan) -> str:
    return "" if visit.oldest_s is None else f"; read up to {_age(visit.oldest_s)} ago"

"""Which houses to visit for a new build, and what each visit would take.

The minutes are a rule of thumb: common practice, no source. A visit takes a while however little there
is to do (arrive, set up, scan, hand over again); each unit takes its update, its restart and its
read-back; each room with an updated unit is walked once more. Travel isn't counted. The figures are
`Pace`, and are a person's to change.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from fleet.jobs.install_rules import Refusal, RefusalKind, check_install, fits
from fleet.jobs.matching_builds import MatchKey, MatchSaid
from fleet.model.all_sites import SiteUnit, SiteUnits
from fleet.model.firmware import Image

_NEEDS_WORD = (RefusalKind.UNKNOWN, RefusalKind.UNSAID, RefusalKind.ORDER_UNKNOWN)


@dataclass(frozen=True, slots=True)
class Pace:
    """How long things take, in minutes: common practice, no source, to be changed by who knows better.

    Attributes:
        arrive_min: a visit with nothing done.
        unit_min: a unit's update, restart and read-back.
        room_min: a room's walk afterwards.
    """

    arrive_min: int = 30
    unit_min: int = 5
    room_min: int = 3


COMMON_PACE = Pace()


@dataclass(frozen=True, slots=True)
class UnitLeft:
    """A unit that isn't updated as things stand, and why, in words."""

    unit: SiteUnit
    because: str


@dataclass(frozen=True, slots=True)
class VisitPlan:
    """What a visit for a build would be.

    Attributes:
        site, address: where. demo: whether it is an invented one. to_update: units that would get the
        build. needs_word: units that would get it once somebody vouches for it, with what is open.
        left: units that don't get it, with the reason; those that run it already and those that it
        isn't for are no part of a visit and aren't named. unread: units that were never read: nobody
        knows. minutes: what the visit would take, by `Pace`, with every unit of `needs_word` in it.
        oldest_s: age of the oldest reading that this rests on, s; None where it rests on none.
    """

    site: str
    address: str
    demo: bool
    to_update: tuple[SiteUnit, ...]
    needs_word: tuple[UnitLeft, ...]
    left: tuple[UnitLeft, ...]
    unread: tuple[SiteUnit, ...]
    minutes: int
    oldest_s: int | None


def visits_for(
    image: Image,
    sites: Iterable[SiteUnits],
    said: Mapping[MatchKey, MatchSaid],
    now: datetime,
    pace: Pace = COMMON_PACE,
) -> tuple[VisitPlan, ...]:
    """List the houses to visit for a build, the most units first.

    Args:
        image: the build, from a shelf that was checked.
        sites: every site.
        said: people's last words on matches.
        now: house time UTC.
        pace: how long things take.

    Returns:
        Houses in which at least one unit would get the build, or might: somebody has to vouch for it
        first, or the unit was never read.
    """
    plans = (_visit(image, site, said, now, pace) for site in sites)
    wanted = [plan for plan in plans if plan.to_update or plan.needs_word or plan.unread]
    return tuple(sorted(wanted, key=_most_first))


def _most_first(plan: VisitPlan) -> tuple[int, int, str]:
    return -len(plan.to_update), -len(plan.needs_word), plan.site


def _visit(
    image: Image,
    site: SiteUnits,
    said: Mapping[MatchKey, MatchSaid],
    now: datetime,
    pace: Pace,
) -> VisitPlan:
    read = [unit for unit in site.units if unit.read_at is not None]
    refusals = [
        (unit, check_install(image, unit.found, unit.other, site.matches, said)) for unit in read
    ]
    to_update = tuple(unit for unit, refusal in refusals if refusal is None)
    needs_word = _left(refusals, _NEEDS_WORD)
    touched = (*to_update, *(left.unit for left in needs_word))
    return VisitPlan(
        site=site.name,
        address=site.address,
        demo=site.demo,
        to_update=to_update,
        needs_word=needs_word,
        left=_left(refusals, (RefusalKind.BLOCKED, RefusalKind.SEQUENCE)),
        unread=tuple(unit for unit in site.units if _may_be_for(image, unit)),
        minutes=_minutes(touched, pace),
        oldest_s=_oldest_s(touched, now),
    )


def _may_be_for(image: Image, unit: SiteUnit) -> bool:
    """Say whether a unit that was never read would get the image if it is what was planned."""
    planned = {"hardware.revision": unit.hardware_revision, "module.type": unit.module_type}
    return unit.read_at is None and bool(unit.serial) and fits(image, planned)


def _left(
    refusals: Iterable[tuple[SiteUnit, Refusal | None]], kinds: tuple[RefusalKind, ...]
) -> tuple[UnitLeft, ...]:
    return tuple(
        UnitLeft(unit, refusal.said)
        for unit, refusal in refusals
        if refusal is not None and refusal.kind in kinds
    )


def _minutes(units: tuple[SiteUnit, ...], pace: Pace) -> int:
    rooms = {unit.room for unit in units}
    return pace.arrive_min + pace.unit_min * len(units) + pace.room_min * len(rooms)


def _oldest_s(units: tuple[SiteUnit, ...], now: datetime) -> int | None:
    ages_s = [(now - unit.read_at).total_seconds() for unit in units if unit.read_at is not None]
    return round(max(ages_s)) if ages_s else None

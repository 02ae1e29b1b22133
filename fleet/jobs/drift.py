"""Drift: how each unit's build stands against the approved one, from the last reading and its age.

What is said of a unit, in the order in which it is looked for:

1. *Unknown build*: it was never read, or doesn't say its build.
2. *Wrong hardware*: its hardware or its module isn't the one that was planned; that is settled first,
   for another build is for it.
3. *Nothing approved* for its hardware and module.
4. *Behind*, *current* or *ahead*, by the approved build's own list of versions before it; else by the
   manifest's sequence, which orders builds of one class; else by the order of versions, where both are
   written by Semantic Versioning. How many builds behind is counted in that list, or among images of a
   shelf; where neither knows, it is behind by a number that isn't known.
5. *Unknown build* again: nothing of that orders it, or it goes by the approved version and is another
   image.
6. *Support ended*: it runs what it should, and its maker mends that no more. A unit that is behind stays
   behind, with the end of support among its reasons.

A reading says what was true when it was taken, so its age goes with it.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from fleet.jobs.builds import approved_for, listed_behind
from fleet.jobs.install_rules import fits, runs
from fleet.jobs.versions import compared
from fleet.model.all_sites import SiteUnit, SiteUnits
from fleet.model.firmware import Image
from fleet.model.house import ApprovedBuild
from fleet.model.sheets import Sheet


class DriftWord(StrEnum):
    """How a unit's build stands."""

    CURRENT = "current"
    BEHIND = "behind"
    AHEAD = "ahead"
    UNKNOWN_BUILD = "unknown build"
    WRONG_HARDWARE = "wrong hardware"
    SUPPORT_ENDED = "support ended"
    NOTHING_APPROVED = "nothing approved"


@dataclass(frozen=True, slots=True)
class UnitDrift:
    """How one unit's build stands.

    Attributes:
        unit: which. word: how it stands. version: what it ran when it was read; "" where it doesn't
        say. approved: the version that it should run; "" where none is approved. behind: how many
        builds behind; None where it isn't behind, or by how many isn't known. reasons: why, in words.
        age_s: how old the reading is, s; None where there is none. support_ended: the day on which
        support of what it runs ended; None where it didn't, or isn't known.
    """

    unit: SiteUnit
    word: DriftWord
    version: str
    approved: str
    behind: int | None
    reasons: tuple[str, ...]
    age_s: int | None
    support_ended: date | None = None


@dataclass(frozen=True, slots=True)
class HouseDrift:
    """How the builds of a house stand.

    Attributes:
        site: its name.
        demo: whether it is an invented one.
        units: each unit, in the order of the schedule.
    """

    site: str
    demo: bool
    units: tuple[UnitDrift, ...]

    @property
    def counts(self) -> Mapping[DriftWord, int]:
        """How many units stand how; words that none stands at are left out."""
        return Counter(unit.word for unit in self.units)

    @property
    def current(self) -> bool:
        """Whether every unit runs what it should."""
        return all(unit.word is DriftWord.CURRENT for unit in self.units)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a build stands in the order of builds, and why."""

    word: DriftWord
    reason: str
    behind: int | None = None


def house_drift(site: SiteUnits, images: Sequence[Image], now: datetime) -> HouseDrift:
    """Say how the builds of a house stand.

    Args:
        site: the house.
        images: of the shelves at hand; they tell what lies between two builds, and when support ends.
        now: house time UTC.
    """
    units = tuple(drift_of(unit, site.approved_builds, images, now) for unit in site.units)
    return HouseDrift(site.name, site.demo, units)


def drift_of(
    unit: SiteUnit, builds: Iterable[ApprovedBuild], images: Sequence[Image], now: datetime
) -> UnitDrift:
    """Say how a unit's build stands; arguments as in `house_drift`."""
    found = unit.found
    approved = approved_for(_text(found, "hardware.revision"), _text(found, "module.type"), builds)
    place = _place(unit, approved, images)
    ended = _support_ended(found, images, now.date())
    reasons = [place.reason]
    word = place.word
    if ended is not None:
        reasons.append(
            f"its maker mended {_text(found, 'build.version')} until {ended.isoformat()}"
        )
        word = DriftWord.SUPPORT_ENDED if word is DriftWord.CURRENT else word
    return UnitDrift(
        unit=unit,
        word=word,
        version=_text(found, "build.version"),
        approved=approved.version if approved else "",
        behind=place.behind,
        reasons=tuple(reasons),
        age_s=None if unit.read_at is None else round((now - unit.read_at).total_seconds()),
        support_ended=ended,
    )


def _place(unit: SiteUnit, approved: ApprovedBuild | None, images: Sequence[Image]) -> _Place:
    version = _text(unit.found, "build.version")
    if unit.read_at is None:
        return _Place(DriftWord.UNKNOWN_BUILD, "it was never read")
    if not version:
        return _Place(DriftWord.UNKNOWN_BUILD, "it doesn't say which build it runs")
    if wrong := _wrong_hardware(unit):
        return _Place(DriftWord.WRONG_HARDWARE, wrong)
    if approved is None:
        return _Place(DriftWord.NOTHING_APPROVED, _nothing_approved(unit))
    return _in_list(unit.found, version, approved) or _ordered(
        unit.found, version, approved, images
    )


def _wrong_hardware(unit: SiteUnit) -> str:
    revision = _text(unit.found, "hardware.revision")
    module = _text(unit.found, "module.type")
    if revision and unit.hardware_revision and revision != unit.hardware_revision:
        return f"answers as hardware {revision}, and {unit.hardware_revision} was planned"
    if module and module != unit.module_type:
        return f"answers as a {module} module, and a {unit.module_type} one was planned"
    return ""


def _nothing_approved(unit: SiteUnit) -> str:
    revision = _text(unit.found, "hardware.revision") or "not known"
    module = _text(unit.found, "module.type") or "not known"
    return f"no build is approved for hardware {revision} with a module {module}"


def _in_list(found: Sheet, version: str, approved: ApprovedBuild) -> _Place | None:
    """Look a version up among the approved one and those before it."""
    behind = listed_behind(version, approved)
    if behind is None:
        return None
    if behind:
        return _behind(version, approved, behind)
    digest, approved_digest = _text(found, "build.image_digest"), approved.image_digest
    if digest and approved_digest and digest.lower() != approved_digest.lower():
        reason = f"calls itself {version}, and its image is not the approved one"
        return _Place(DriftWord.UNKNOWN_BUILD, reason)
    return _Place(DriftWord.CURRENT, f"runs the approved {version}")


def _ordered(
    found: Sheet, version: str, approved: ApprovedBuild, images: Sequence[Image]
) -> _Place:
    """Order a version that no list knows: by sequence, else by the order of versions."""
    sequence = found.get("build.sequence")
    if isinstance(sequence, int) and not isinstance(sequence, bool):
        order: int | None = (sequence > approved.sequence) - (sequence < approved.sequence)
        by = f"by its sequence {sequence} against {approved.sequence}"
    else:
        order, by = compared(version, approved.version), "by the order of versions"
    if order == 1:
        return _Place(
            DriftWord.AHEAD, f"runs {version}, ahead of the approved {approved.version} {by}"
        )
    if order == -1:
        return _behind(version, approved, _counted(found, approved, images))
    reason = f"runs {version}, and nothing orders that against the approved {approved.version}"
    return _Place(DriftWord.UNKNOWN_BUILD, reason)


def _behind(version: str, approved: ApprovedBuild, behind: int | None) -> _Place:
    if behind is None:
        count = "by how many builds isn't known"
    else:
        count = f"{behind} build{'' if behind == 1 else 's'}"
    reason = f"runs {version}, behind the approved {approved.version}: {count}"
    return _Place(DriftWord.BEHIND, reason, behind)


def _counted(found: Sheet, approved: ApprovedBuild, images: Sequence[Image]) -> int | None:
    """Count the builds after the unit's up to the approved one, where a shelf holds both."""
    own = [image for image in images if fits(image, found)]
    running = next((image for image in own if runs(image, found)), None)
    if running is None or not any(image.sequence == approved.sequence for image in own):
        return None
    between = {
        image.sequence
        for image in own
        if image.class_id == running.class_id
        and running.sequence < image.sequence <= approved.sequence
    }
    return len(between) or None


def _support_ended(found: Sheet, images: Sequence[Image], today: date) -> date | None:
    ends = next((image.support_ends for image in images if runs(image, found)), None)
    return ends if ends is not None and ends < today else None


def _text(sheet: Sheet, key: str) -> str:
    return str(sheet.get(key, ""))

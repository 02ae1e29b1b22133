"""Drift: how each unit's build stands against the approved one, from the last reading and its age.

Where the build stands is `fleet.jobs.build_order`'s to say. Here it is put together with the end of its
maker's support: a unit that runs what it should, and that nobody mends any more, has *support ended*;
one that is behind stays behind, with the end of support among its reasons.

A reading says what was true when it was taken, so its age goes with it.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from fleet.jobs.build_order import DriftWord, place_of
from fleet.jobs.builds import approved_for
from fleet.jobs.install_rules import runs
from fleet.model.all_sites import SiteUnit, SiteUnits
from fleet.model.firmware import DriftLine, Image
from fleet.model.house import ApprovedBuild
from fleet.model.sheets import Sheet
from fleet.model.units import Unit


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
    place = place_of(unit, approved, images)
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


def _support_ended(found: Sheet, images: Sequence[Image], today: date) -> date | None:
    ends = next((image.support_ends for image in images if runs(image, found)), None)
    return ends if ends is not None and ends < today else None


def _text(sheet: Sheet, key: str) -> str:
    return str(sheet.get(key, ""))


def drift_lines(
    units: Iterable[Unit], builds: Sequence[ApprovedBuild], now: datetime
) -> tuple[DriftLine, ...]:
    """Say for a face how the builds of a house's units stand, without any shelf at hand."""
    return tuple(_line(unit, builds, now) for unit in units)


def _line(unit: Unit, builds: Sequence[ApprovedBuild], now: datetime) -> DriftLine:
    line, found = unit.line, unit.found
    told = SiteUnit(
        label=line.label,
        serial=line.serial,
        room=line.room,
        hardware_revision=line.hardware_revision,
        module_type=line.module_type.value,
        found=found.sheet if found else {},
        other=found.other if found else {},
        read_at=found.read_at if found else None,
    )
    drift = drift_of(told, builds, (), now)
    word = f"behind by {drift.behind}" if drift.behind else drift.word.value
    return DriftLine(
        serial=line.serial,
        label=line.label,
        room=line.room,
        running=drift.version,
        approved=drift.approved,
        word=word,
        reason="; ".join(drift.reasons),
        read_at=told.read_at,
    )

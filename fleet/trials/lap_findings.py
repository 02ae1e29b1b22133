"""Findings that a lap proves: crossed labels, units that see through walls, mounts turned over, ghosts."""

import math
from collections.abc import Iterable, Mapping

from fleet.model.findings import Finding, FindingKind
from fleet.model.house import HousePlan, PlannedUnit
from fleet.trials.lap_evidence import SEEN_LEAST_PPM, LapEvidence, Mount


def findings_from_lap(plan: HousePlan, lap: LapEvidence) -> tuple[Finding, ...]:
    """List what the lap showed to be wrong, in the order of the schedule."""
    names = {room.key: room.name for room in plan.rooms}
    found: list[Finding] = []
    told: set[str] = set()
    for line in plan.units:
        if line.serial and line.serial not in told:
            crossed = _labels_crossed(plan, lap, line, names, told)
            found += crossed
        found += _bleed_through(lap, line, names)
        found += _mirrored(line, lap.mounts.get(line.serial))
        found += _ghost(lap, line)
    return tuple(found)


def _labels_crossed(
    plan: HousePlan,
    lap: LapEvidence,
    line: PlannedUnit,
    names: Mapping[str, str],
    told: set[str],
) -> list[Finding]:
    """Report a unit that hangs in another room; a pair that swapped places is told once."""
    home = lap.home_of(line.serial)
    if home in ("", line.room) or line.room not in lap.shares_ppm:
        return []
    partner = next(
        (
            other
            for other in plan.units
            if other.room == home and lap.home_of(other.serial) == line.room
        ),
        None,
    )
    told.update({line.serial} | ({partner.serial} if partner else set()))
    own_ppm = lap.shares_ppm[line.room].get(line.serial, 0)
    with_whom = f"; {partner.label} answers here instead" if partner else ""
    return [
        Finding(
            line.room,
            line.label,
            FindingKind.LABELS_CROSSED,
            f"answers to a walk of {names[home]}, not of {names[line.room]}{with_whom}",
            {
                "found_in": names[home],
                "seen_there_ppm": lap.shares_ppm[home].get(line.serial, 0),
                "seen_here_ppm": own_ppm,
                "crossed_with": partner.label if partner else "",
            },
        )
    ]


def _bleed_through(
    lap: LapEvidence, line: PlannedUnit, names: Mapping[str, str]
) -> Iterable[Finding]:
    home = lap.home_of(line.serial) or line.room
    for room, row in lap.shares_ppm.items():
        share_ppm = row.get(line.serial, 0)
        if room != home and share_ppm >= SEEN_LEAST_PPM:
            yield Finding(
                line.room,
                line.label,
                FindingKind.BLEED_THROUGH,
                f"sees a walker in {names[room]} {share_ppm / 10_000:.0f} % of the time",
                {"walked": names[room], "seen_ppm": share_ppm},
            )


def _mirrored(line: PlannedUnit, mount: Mount | None) -> Iterable[Finding]:
    if mount is None or mount.fits_as_planned or not mount.fits_turned:
        return
    yield Finding(
        line.room,
        line.label,
        FindingKind.MIRRORED_MOUNT,
        f"fits {mount.turned_rms_mm / 1000:.2f} m turned over, {mount.planned_rms_mm / 1000:.2f} m "
        "as planned",
        {
            "planned_rms_mm": mount.planned_rms_mm,
            "turned_rms_at_most_mm": math.ceil(mount.turned_rms_mm / 100) * 100,
            "marks_seen": mount.points,
        },
    )


def _ghost(lap: LapEvidence, line: PlannedUnit) -> Iterable[Finding]:
    beyond = lap.beyond.get(line.serial)
    if beyond is None or beyond.share_ppm < SEEN_LEAST_PPM:
        return
    yield Finding(
        line.room,
        line.label,
        FindingKind.GHOST,
        f"shows somebody {beyond.past_wall_mm / 1000:.1f} m beyond the wall in "
        f"{beyond.share_ppm / 10_000:.0f} % of its reports",
        {"past_wall_mm": beyond.past_wall_mm, "seen_ppm": beyond.share_ppm},
    )

"""Findings that follow from reading and comparing: no walk needed.

Each rule holds what a unit said, or what an earlier visit wrote down, against the plan. A module that is
not the planned one is one finding, and the settings and areas of that unit are not held against the plan
as well: they are another module's.
"""

from collections.abc import Iterable, Mapping

from fleet.jobs.areas import past_wall_mm
from fleet.jobs.builds import drift
from fleet.jobs.comparing import compare, with_standing
from fleet.model.findings import Finding, FindingKind
from fleet.model.house import EarlierVisit, HousePlan, MatchWord
from fleet.model.sheets import AREA_COORDINATE_TOLERANCE_MM, Comparison, Standing, areas_of
from fleet.model.units import Reading, Unit

WEAK_SIGNAL_DBM = -80
LOST_LIMIT_PPM = 50_000


def findings_from_reading(
    plan: HousePlan, units: Iterable[Unit], lost_ppm: Mapping[str, int]
) -> tuple[Finding, ...]:
    """List what reading and comparing shows, in the order of the schedule.

    Args:
        plan: the property.
        units: the inventory's units with their three sheets.
        lost_ppm: serial → share of numbered reports that never came, for units where it is known.
    """
    found: list[Finding] = []
    for unit in units:
        if unit.found is not None:
            found += _unit_findings(plan, unit, unit.found, lost_ppm.get(unit.line.serial))
    if plan.visits:
        found += _unsigned(plan.visits[-1])
    return tuple(found)


def _unit_findings(
    plan: HousePlan, unit: Unit, reading: Reading, lost_ppm: int | None
) -> Iterable[Finding]:
    swapped = _module_swapped(unit, reading)
    yield from swapped
    yield from _builds(plan, unit, reading)
    yield from _weak_link(unit, reading, lost_ppm)
    if not swapped:
        yield from _settings(unit, reading)
        yield from _areas(plan, unit, reading)


def _module_swapped(unit: Unit, reading: Reading) -> list[Finding]:
    found, planned = reading.sheet.get("module.type"), unit.planned.get("module.type")
    if found is None or found == planned:
        return []
    return [
        Finding(
            unit.line.room,
            unit.line.label,
            FindingKind.MODULE_SWAPPED,
            f"answers as a {found} module where a {planned} one was left",
            {"found": found, "planned": planned or "", "as_left": _as_left(unit, "module.type")},
        )
    ]


def _as_left(unit: Unit, key: str) -> str:
    return str((unit.as_left or {}).get(key, "not known"))


def _builds(plan: HousePlan, unit: Unit, reading: Reading) -> Iterable[Finding]:
    state = drift(reading.sheet, plan.approved_builds, plan.matches)
    if state.approved is None:
        return
    if state.behind:
        yield Finding(
            unit.line.room,
            unit.line.label,
            FindingKind.BUILD_BEHIND,
            f"runs {state.version}, {_count(state.behind, 'build')} behind {state.approved.version}",
            {
                "found": state.version,
                "approved": state.approved.version,
                "builds_behind": state.behind,
            },
        )
    if state.match is MatchWord.UNKNOWN:
        firmware = str(reading.sheet.get("module.firmware", "not known"))
        yield Finding(
            unit.line.room,
            unit.line.label,
            FindingKind.MATCH_UNKNOWN,
            f"nobody has vouched for {state.approved.version} with module firmware {firmware}",
            {
                "hardware_revision": str(reading.sheet.get("hardware.revision", "")),
                "module_type": str(reading.sheet.get("module.type", "")),
                "module_firmware": firmware,
                "approved": state.approved.version,
            },
        )


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _weak_link(unit: Unit, reading: Reading, lost_ppm: int | None) -> Iterable[Finding]:
    signal_dbm = reading.signal_dbm
    weak = signal_dbm is not None and signal_dbm < WEAK_SIGNAL_DBM
    if not weak and (lost_ppm is None or lost_ppm <= LOST_LIMIT_PPM):
        return
    reasons, evidence = [], {}
    if signal_dbm is not None:
        reasons.append(f"signal {signal_dbm} dBm")
        evidence["signal_dbm"] = signal_dbm
    if lost_ppm is not None:
        reasons.append(f"{lost_ppm / 10_000:.0f} % of its numbered reports missing")
        evidence["lost_ppm"] = lost_ppm
    yield Finding(
        unit.line.room, unit.line.label, FindingKind.WEAK_LINK, ", ".join(reasons), evidence
    )


def _settings(unit: Unit, reading: Reading) -> Iterable[Finding]:
    comparisons = compare(unit.planned, reading.sheet, unit.as_left)
    for item in with_standing(comparisons, Standing.CHANGED_ON_SITE, Standing.CONFLICT):
        if item.key.startswith("setting.") and item.as_left is not None:
            yield _setting_changed(unit, item)


def _setting_changed(unit: Unit, item: Comparison) -> Finding:
    return Finding(
        unit.line.room,
        unit.line.label,
        FindingKind.SETTING_CHANGED,
        f"{item.key} was left at {item.as_left} and now is {item.found}",
        {
            "item": item.key,
            "found": item.found if item.found is not None else "",
            "as_left": item.as_left if item.as_left is not None else "",
            "planned": item.planned if item.planned is not None else "",
        },
    )


def _areas(plan: HousePlan, unit: Unit, reading: Reading) -> Iterable[Finding]:
    outline = next(room.outline_mm for room in plan.rooms if room.key == unit.line.room)
    for area in areas_of(reading.sheet):
        past_mm = past_wall_mm(area, unit.line.pose, outline)
        if past_mm > AREA_COORDINATE_TOLERANCE_MM:
            yield Finding(
                unit.line.room,
                unit.line.label,
                FindingKind.AREA_PAST_WALL,
                f"its area {area.label!r} runs {past_mm / 1000:.2f} m past a wall",
                {"area": area.key, "past_wall_mm": past_mm},
            )


def _unsigned(visit: EarlierVisit) -> Iterable[Finding]:
    for room in visit.rooms:
        if room.shown and not room.open and room.signature is None:
            yield Finding(
                room.room,
                "",
                FindingKind.UNSIGNED,
                f"all {len(room.shown)} items were shown at the earlier visit, and nobody accepted",
                {"items_shown": len(room.shown)},
            )

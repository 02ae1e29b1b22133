"""What a person has to look at or decide before or after a swap, a sentence each."""

from collections.abc import Iterable, Sequence

from fleet.jobs.swap_signs import SwapKind, module_of
from fleet.jobs.swapped_areas import CarriedArea, number_of
from fleet.model.house import PlannedUnit
from fleet.model.sheets import AreaKind, Sheet
from fleet.model.units import Reading, Unit


def questions_about(
    unit: Unit,
    reading: Reading,
    line: PlannedUnit,
    carried: Sequence[CarriedArea],
    kind: SwapKind,
    after: Sheet,
) -> Iterable[str]:
    """Yield the questions.

    Args:
        unit: with its sheets as they stand.
        reading: what the new one says.
        line: the schedule's line as it will be.
        carried: what becomes of each area.
        kind: what is exchanged.
        after: the sheet planned from now on.
    """
    label, before = unit.line.label, unit.line.module_type
    if line.module_type is not before:
        yield f"{label}: a {line.module_type} module instead of a {before} one: is that meant?"
    if line.pose == unit.line.pose:
        way = "upside-down" if line.pose.upside_down else "upright"
        yield f"{label}: fixed as the old one, {way}, same heading? If not, say how, then plan again."
    if kind is SwapKind.MODULE:
        yield f"{label}: was it moved while its module was out? Then take the photograph again too."
    yield from _areas_to_decide(label, reading, carried)
    yield from _builds_to_decide(label, unit, reading, line, after)


def _areas_to_decide(label: str, reading: Reading, carried: Sequence[CarriedArea]) -> Iterable[str]:
    if any(one.crowded_out for one in carried):
        yield f"{label}: it holds fewer areas; the first ones are kept unless others are chosen."
    for one in carried:
        if one.area is not None and not one.whole:
            yield f"{label}: area {one.area.label!r}: {one.reason}. Draw it anew, or leave it."
            if one.area.kind is AreaKind.IGNORE:
                yield f"{label}: what {one.area.label!r} kept out may be seen again."
    if number_of(reading.capabilities, "max_areas") is None and carried:
        yield f"{label}: the new one doesn't say how many areas it holds; the write will show it."


def _builds_to_decide(
    label: str, unit: Unit, reading: Reading, line: PlannedUnit, after: Sheet
) -> Iterable[str]:
    if "build.version" in unit.planned and "build.version" not in after:
        yield f"{label}: no build is approved for {line.hardware_revision}, {line.module_type}."
    elif after.get("build.version") not in (None, reading.sheet.get("build.version")):
        runs = reading.sheet.get("build.version", "an unknown build")
        yield f"{label}: runs {runs}; {after['build.version']} is approved: install it."
    if not module_of(reading).firmware:
        yield f"{label}: its module doesn't say its firmware: whether a build goes with it is unknown."

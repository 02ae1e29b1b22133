"""Every item of the old sheet, and what becomes of it: a row each, so that nothing vanishes unsaid."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from fleet.jobs.comparing import agree
from fleet.jobs.planning import sheet_of
from fleet.jobs.swapped_areas import CarriedArea
from fleet.model.sheets import Sheet, Value
from fleet.model.templates import Decision, Planned
from fleet.model.units import Reading, Unit

NOT_HELD = "the new one doesn't hold such a setting"
TOO_FAR = "the new one reaches no farther"
WITH_ITS_AREA = "with its area"
EARLIER_DECISION = "earlier decision "
"""How the key of a row begins that is about a decision of an earlier place, before the item's own key."""

OWN_FACTS = ("hardware", "module", "build")


class Fate(StrEnum):
    """What becomes of one item of a sheet."""

    CARRIES = "carries over"
    CHANGED = "changes"
    DROPPED = "dropped"
    NEW = "the new one's own"


@dataclass(frozen=True, slots=True)
class SwapRow:
    """One item.

    Attributes:
        key: which, as sheets call it.
        before, after: what stood or was planned, what is planned from now on; None for nothing.
        fate, reason: what becomes of it, and why.
        says_now: what the unit itself says now, where that is to be written over; None where it isn't.
    """

    key: str
    before: Value | None
    after: Value | None
    fate: Fate
    reason: str
    says_now: Value | None = None

    @property
    def said(self) -> str:
        """The row as a sentence."""
        before = "none" if self.before is None else self.before
        after = "none" if self.after is None else self.after
        values = f"{after}" if before == after else f"{before} → {after}"
        if self.fate is Fate.DROPPED:
            values = f"{before}"
        now = "" if self.says_now is None else f"it says {self.says_now} now: "
        return f"{self.key} {values}: {now}{self.reason}"


def swap_rows(
    unit: Unit,
    reading: Reading,
    planned: Mapping[str, Planned],
    carried: Sequence[CarriedArea],
) -> Iterable[SwapRow]:
    """Yield what becomes of each item, in the order of the keys.

    Args:
        unit: with its sheets as they stand.
        reading: what the new one says.
        planned: what should stand in it.
        carried: what becomes of each area.
    """
    old, after = old_sheet_of(unit, reading.serial), sheet_of(planned)
    areas = {one.key: one for one in carried}
    for key in sorted({*unit.planned, *old, *after, *reading.sheet}):
        if key in unit.planned:
            yield _planned_row(key, unit.planned[key], after.get(key), planned, areas)
        elif key in old:
            yield _unplanned_row(key, old[key], reading.sheet.get(key), after.get(key))
        elif key in after:
            reason = f"planned by {planned[key].origin.words}"
            yield SwapRow(key, None, after[key], Fate.NEW, reason)
        elif key.startswith("areas."):
            reason = "the new one holds it, and the plan doesn't: the review will offer it"
            yield SwapRow(key, None, reading.sheet[key], Fate.NEW, reason)
        else:
            reason = "the plan says nothing of it; it stays"
            yield SwapRow(key, None, reading.sheet[key], Fate.NEW, reason)


def stale_rows(
    stale: Mapping[str, Decision], decisions: Mapping[str, Decision]
) -> Iterable[SwapRow]:
    """Yield decisions about the new serial's earlier place, which don't come back with it."""
    for key in sorted(set(stale) - set(decisions)):
        reason = "decided when this serial had another place; it doesn't come back"
        yield SwapRow(f"{EARLIER_DECISION}{key}", stale[key].value, None, Fate.DROPPED, reason)


def _planned_row(
    key: str,
    before: Value,
    after: Value | None,
    planned: Mapping[str, Planned],
    areas: Mapping[str, CarriedArea],
) -> SwapRow:
    if key.startswith("areas."):
        return _area_row(key, before, after, areas)
    if after is None:
        return SwapRow(key, before, None, Fate.DROPPED, _why_dropped(key))
    if after == before and type(after) is type(before):
        return SwapRow(key, before, after, Fate.CARRIES, planned[key].origin.words)
    return SwapRow(key, before, after, Fate.CHANGED, _why_changed(key, planned[key]))


def _area_row(
    key: str, before: Value, after: Value | None, areas: Mapping[str, CarriedArea]
) -> SwapRow:
    one = areas.get(key.removeprefix("areas.").rpartition(".")[0])
    if one is None:
        return SwapRow(key, before, None, Fate.DROPPED, "no outline of that area is planned")
    if after is None:
        return SwapRow(key, before, None, Fate.DROPPED, one.reason)
    if not key.endswith(".outline") or one.whole:
        reason = one.reason if key.endswith(".outline") else WITH_ITS_AREA
        return SwapRow(key, before, after, Fate.CARRIES, reason)
    return SwapRow(key, before, after, Fate.CHANGED, one.reason)


def _unplanned_row(key: str, before: Value, found: Value | None, after: Value | None) -> SwapRow:
    """A row for what stood in the old one and nobody planned."""
    now = found if after is None else after
    if now is None:
        reason = "nobody planned it, and the new one doesn't hold it"
        return SwapRow(key, before, None, Fate.DROPPED, reason)
    if agree(key, before, now):
        return SwapRow(
            key, before, now, Fate.CARRIES, "nobody planned it; the new one says the same"
        )
    if key.partition(".")[0] in OWN_FACTS:
        return SwapRow(key, before, now, Fate.CHANGED, "a fact of the new one")
    return SwapRow(key, before, now, Fate.CHANGED, "nobody planned it; the new one keeps its own")


def _why_dropped(key: str) -> str:
    if key.startswith("setting."):
        return NOT_HELD
    if key.startswith("build."):
        return "no build is approved for its hardware and module"
    return "a person took it out of the plan"


def _why_changed(key: str, planned: Planned) -> str:
    if key.partition(".")[0] in OWN_FACTS:
        return "goes with the new hardware and module"
    if key.startswith("mount."):
        return "the new one is fixed otherwise"
    return planned.why or planned.origin.words


def old_sheet_of(unit: Unit, serial: str) -> Sheet:
    """Return what is known to have stood in the old unit: as found, or else as left."""
    found = unit.found.sheet if unit.found and unit.found.serial != serial else {}
    return {**(unit.as_left or {}), **found}

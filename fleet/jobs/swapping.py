"""Exchanging a unit or its module: what carries over, what doesn't, what lapses, what is to do. Pure.

Theory of operation:

1. A label is a place. Its line keeps room, label and mount; serial, hardware and module become what the
   new one says. A mount that differs is said by a person.
2. A planned setting that the new one has carries over, whoever planned it. One that it lacks is dropped,
   and a distance beyond its range is brought down to it, by decisions that end with the next swap.
3. Areas carry over by the plan (see `swapped_areas`).
4. Every item of the old sheet has a row, and so has every item that the new one brings along.
5. What the new unit was once planned to hold elsewhere, by its serial, doesn't come back with it.
6. Nothing of it is done here, and none of it without a person's word.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from fleet.jobs.comparing import agree
from fleet.jobs.planning import planned_values, sheet_of
from fleet.jobs.swap_lapses import (
    APPLY_MIN,
    Lapse,
    LapseKind,
    Redo,
    SwapEvidence,
    lapses_of,
    redo_for,
)
from fleet.jobs.swap_questions import questions_about
from fleet.jobs.swap_rows import (
    NOT_HELD,
    OWN_FACTS,
    TOO_FAR,
    Fate,
    SwapRow,
    stale_rows,
    swap_rows,
)
from fleet.jobs.swap_signs import SwapKind, kind_of
from fleet.jobs.swapped_areas import CarriedArea, carry_areas, drawn_areas, number_of
from fleet.model.errors import PlanError
from fleet.model.geometry import Pose
from fleet.model.house import ApprovedBuild, ModuleType, PlannedUnit, Room
from fleet.model.sheets import Sheet
from fleet.model.templates import Decision, Planned, Template
from fleet.model.units import Reading, Unit

MAX_DISTANCE = "setting.max_distance_mm"


@dataclass(frozen=True, slots=True)
class SiteRules:
    """What a site plans by, besides the line itself.

    Attributes:
        builds: approved for the site.
        templates: of the site.
        decisions: item → what a person decided about the old unit's plan.
        stale: the same of the new unit's serial, from wherever it was before.
    """

    builds: Sequence[ApprovedBuild] = ()
    templates: Sequence[Template] = ()
    decisions: Mapping[str, Decision] = field(default_factory=dict)
    stale: Mapping[str, Decision] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SwapPlan:
    """A swap, ready to be shown and to be done.

    Attributes:
        kind: what is exchanged.
        before, line: the schedule's line as it is, and as it will be.
        decisions: item → decision that stands beside the new line; one by nobody is the swap's own.
        planned: the sheet planned from now on.
        rows: every item, in the order of the keys.
        lapsed: verdicts that no longer count.
        redo: what has to be done again, in order.
        decide: what the person has to look at or decide, a sentence each.
        areas: what becomes of each planned area, in the order in which they are kept.
    """

    kind: SwapKind
    before: PlannedUnit
    line: PlannedUnit
    decisions: Mapping[str, Decision]
    planned: Sheet
    rows: tuple[SwapRow, ...]
    lapsed: tuple[Lapse, ...] = ()
    redo: tuple[Redo, ...] = ()
    decide: tuple[str, ...] = ()
    areas: tuple[CarriedArea, ...] = ()

    @property
    def carries(self) -> tuple[str, ...]:
        """What the new one takes over, unchanged or not, a sentence each."""
        place = f"{self.line.label} stays in {self.line.room}, label and place"
        return (place, *self._said(Fate.CARRIES), *self._said(Fate.CHANGED))

    @property
    def dropped(self) -> tuple[str, ...]:
        """What it doesn't, and why, a sentence each."""
        return self._said(Fate.DROPPED)

    @property
    def own(self) -> tuple[str, ...]:
        """What it brings along, a sentence each."""
        return self._said(Fate.NEW)

    @property
    def lapses(self) -> tuple[str, ...]:
        """Verdicts that no longer count, a sentence each."""
        return tuple(lapse.said for lapse in self.lapsed)

    @property
    def to_do(self) -> tuple[str, ...]:
        """What has to be done or decided, a sentence each."""
        again = (f"{one.what}, {one.room}, {one.minutes} min: {one.why}" for one in self.redo)
        return (*self.decide, *again)

    def _said(self, fate: Fate) -> tuple[str, ...]:
        return tuple(row.said for row in self.rows if row.fate is fate)


def plan_swap(
    unit: Unit,
    reading: Reading,
    room: Room,
    evidence: SwapEvidence,
    *,
    rules: SiteRules | None = None,
    kind: SwapKind | None = None,
    mount: Pose | None = None,
    chosen_areas: Sequence[str] = (),
) -> SwapPlan:
    """Say what exchanging a unit or its module would come to.

    Args:
        unit: the line with its sheets as they stand.
        reading: what the new one says of itself, or the old one with its new module.
        room: the room of the line.
        evidence: what had been shown of the unit and its room.
        rules: what the site plans by.
        kind: what a person says was exchanged; None for what the reading shows.
        mount: how the new one is fixed; None for as the old one.
        chosen_areas: ids of areas to keep first where the new one holds fewer.

    Raises:
        PlanError: the line has no unit yet, nothing shows an exchange, the module is of a type that no plan
            knows, or the new one's settings couldn't be read.
    """
    kind, rules = kind or kind_of(unit, reading), rules or SiteRules()
    _refuse_unfit(unit, reading, kind)
    if kind is SwapKind.RESET:
        return _reset(unit, reading, rules)
    pose = mount or unit.line.pose
    carried = carry_areas(
        drawn_areas(unit, rules.decisions),
        pose,
        reading.capabilities,
        before=unit.line.pose,
        chosen=chosen_areas,
    )
    line = _line(unit.line, reading, pose, carried)
    decisions = _carried_decisions(reading, rules)
    wished = _planned_by(line, room, rules, decisions)
    decisions |= _own_decisions(sheet_of(wished), reading)
    planned = _planned_by(line, room, rules, decisions)
    after = sheet_of(planned)
    whole_unit = kind is not SwapKind.MODULE
    lapsed = lapses_of(unit.line.label, room, evidence, whole_unit=whole_unit)
    return SwapPlan(
        kind,
        unit.line,
        line,
        decisions,
        after,
        (
            *swap_rows(unit, reading, planned, carried),
            *(stale_rows(rules.stale, decisions) if reading.serial != unit.line.serial else ()),
        ),
        lapsed,
        (Redo("review and apply", room.key, APPLY_MIN, _APPLY), *redo_for(room, evidence, lapsed)),
        tuple(questions_about(unit, reading, line, carried, kind, after)),
        carried,
    )


_APPLY = "settings and areas are written to the new one by the usual review; common practice"


def _refuse_unfit(unit: Unit, reading: Reading, kind: SwapKind) -> None:
    label, same = unit.line.label, reading.serial == unit.line.serial
    if not unit.line.serial:
        raise _unfit(label, "no unit was ever allotted to it", "Place the unit instead.")
    if same is (kind in (SwapKind.UNIT, SwapKind.BOTH)):
        word = "the same serial answers" if same else f"{reading.serial} is another serial"
        raise _unfit(
            label, f"{word}, so it can't be said to be: {kind}", "Look which unit is meant."
        )
    module_type = str(reading.sheet.get("module.type", ""))
    if module_type not in set(ModuleType):
        said = f"{reading.serial} has the module {module_type or 'unnamed'!r}, which no plan knows"
        raise _unfit(label, said, "Read it again, or fit another module.")
    has_settings = any(key.startswith("setting.") for key in reading.sheet)
    if not has_settings and any(":" in what for what in reading.missing):
        said = f"not all of {reading.serial} could be read ({reading.missing[0]})"
        raise _unfit(label, said, "Read it again: what carries over can't be said yet.")


def _unfit(label: str, said: str, next_step: str) -> PlanError:
    return PlanError(f"{said}.", subject=label, stands="Nothing was swapped.", next_step=next_step)


def _line(
    line: PlannedUnit, reading: Reading, pose: Pose, carried: Iterable[CarriedArea]
) -> PlannedUnit:
    held = {key.removeprefix("setting.") for key in reading.sheet if key.startswith("setting.")}
    return replace(
        line,
        serial=reading.serial,
        module_type=ModuleType(str(reading.sheet["module.type"])),
        hardware_revision=str(reading.sheet.get("hardware.revision", line.hardware_revision)),
        pose=pose,
        settings={name: value for name, value in line.settings.items() if name in held},
        areas=tuple(one.area for one in carried if one.area is not None),
    )


def _planned_by(
    line: PlannedUnit, room: Room, rules: SiteRules, decisions: Mapping[str, Decision]
) -> Mapping[str, Planned]:
    return planned_values(
        line, rules.builds, room=room, templates=rules.templates, decisions=decisions
    )


def _carried_decisions(reading: Reading, rules: SiteRules) -> dict[str, Decision]:
    """Carry decisions over. Those about areas are of the plan from now on, drawn there."""
    return {
        key: decision
        for key, decision in rules.decisions.items()
        if key.partition(".")[0] not in ("areas", *OWN_FACTS)
        and (not key.startswith("setting.") or key in reading.sheet)
        and not decision.why.startswith((NOT_HELD, TOO_FAR))
    }


def _own_decisions(planned: Sheet, reading: Reading) -> Mapping[str, Decision]:
    """Decide what the new one makes necessary: settings that it lacks, a distance that it can't reach."""
    decided = {
        key: Decision(None, "", NOT_HELD)
        for key in planned
        if key.startswith("setting.") and key not in reading.sheet
    }
    reach, asked = number_of(reading.capabilities, "max_range_mm"), planned.get(MAX_DISTANCE)
    if reach is not None and type(asked) is int and asked > reach and MAX_DISTANCE in reading.sheet:
        decided[MAX_DISTANCE] = Decision(int(reach), "", TOO_FAR)
    return decided


def _reset(unit: Unit, reading: Reading, rules: SiteRules) -> SwapPlan:
    """Plan for a unit that lost its settings: nothing lapses, all of it is to be written back."""
    left = unit.as_left or unit.planned
    rows = []
    for key in sorted({*left, *unit.planned, *reading.sheet}):
        was, now = left.get(key, unit.planned.get(key)), reading.sheet.get(key)
        if was is None:
            rows.append(SwapRow(key, None, now, Fate.NEW, "nothing of it was left or planned"))
        elif now is None or agree(key, was, now):
            reason = "it stands" if now is not None else "to be written back, where it can be"
            rows.append(SwapRow(key, was, was, Fate.CARRIES, reason))
        else:
            rows.append(SwapRow(key, was, was, Fate.CARRIES, "to be written back", says_now=now))
    how = f"walkdown restore {unit.line.label} --to as-left"
    redo = (Redo("restore as left", unit.line.room, APPLY_MIN, f"{how}; common practice"),)
    decide = (f"{unit.line.label}: find out who reset it, and whether it will be reset again.",)
    line, decisions = unit.line, rules.decisions
    return SwapPlan(
        SwapKind.RESET, line, line, decisions, unit.planned, tuple(rows), (), redo, decide
    )


def lapses_in(plan: SwapPlan, *kinds: LapseKind) -> tuple[Lapse, ...]:
    """Return a plan's lapses of some kinds."""
    return tuple(lapse for lapse in plan.lapsed if lapse.kind in kinds)

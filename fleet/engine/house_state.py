"""Putting the slow part of a snapshot together: inventory in, lists for the faces out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from fleet.engine.choosing import standing_choices
from fleet.engine.evidence_store import load_losses
from fleet.engine.files import checklist_for
from fleet.engine.lapses import (
    Lapsed,
    left_that_stands,
    load_lapses,
    plan_that_stands,
    signatures_that_stand,
    ticks_that_stand,
)
from fleet.inventory.inventory import Inventory
from fleet.jobs.changes import pending_changes
from fleet.jobs.checklists import RoomEvidence, fill, soak_reason
from fleet.jobs.drift import drift_lines
from fleet.jobs.findings import findings_from_reading
from fleet.jobs.matching_builds import MATCH_SAID, matches_with, said_in
from fleet.jobs.planning import planned_values, sheet_of
from fleet.jobs.templates import checklist_with
from fleet.jobs.todo import jobs_of
from fleet.model.findings import Finding, Outcome, RoomResult
from fleet.model.house import HousePlan, Room, Signature
from fleet.model.snapshot import HouseState, LiveUnit
from fleet.model.templates import Template
from fleet.model.units import Unit
from fleet.trials.lap_evidence import LapEvidence
from fleet.trials.lap_findings import findings_from_lap
from fleet.trials.soak import judge_soak, soak_findings


@dataclass(frozen=True, slots=True)
class Beliefs:
    """What the inventory holds at one moment, read once for a whole state."""

    plan: HousePlan
    units: tuple[Unit, ...]
    signatures: Mapping[str, Signature]
    ticks: Mapping[str, Mapping[str, str]]
    lap: LapEvidence = field(default_factory=LapEvidence)
    lost_ppm: Mapping[str, int] = field(default_factory=dict)
    templates: tuple[Template, ...] = ()


def read_beliefs(inventory: Inventory, lap: LapEvidence, live: Mapping[str, LiveUnit]) -> Beliefs:
    """Read what the inventory holds of its current site; what is live outranks what was kept."""
    lapses = load_lapses(inventory)
    plan = plan_that_stands(inventory.plan(), lapses)
    said = said_in(inventory.journal_of(MATCH_SAID))
    plan = replace(plan, matches=matches_with(plan.matches, said))
    templates = tuple(kept.template for kept in inventory.templates())
    units = _units(inventory, plan, templates, lap, lapses)
    signatures = signatures_that_stand(inventory.signatures(), lapses)
    ticks = {
        room: {item: f"{tick.by}: {tick.said}".rstrip(": ") for item, tick in by_item.items()}
        for room, by_item in ticks_that_stand(inventory.ticks(), lapses).items()
    }
    counted = {unit.serial: unit.lost_ppm for unit in live.values() if unit.lost_ppm is not None}
    lost_ppm = {**load_losses(inventory), **counted}
    return Beliefs(plan, units, signatures, ticks, lap, lost_ppm, templates)


def _units(
    inventory: Inventory,
    plan: HousePlan,
    templates: Sequence[Template],
    lap: LapEvidence,
    lapses: Mapping[str, Lapsed],
) -> tuple[Unit, ...]:
    """Put each unit of the schedule together: planned, found, as left, and its mount as walked."""
    readings, as_left = inventory.readings(), left_that_stands(inventory.as_left(), plan, lapses)
    decisions, rooms = inventory.planned_decisions(), {room.key: room for room in plan.rooms}
    units = []
    for line in plan.units:
        left, mount = as_left.get(line.serial), lap.mounts.get(line.serial)
        planned = planned_values(
            line,
            plan.approved_builds,
            room=rooms[line.room],
            templates=templates,
            decisions=decisions.get(line.serial),
        )
        units.append(
            Unit(
                line=line,
                planned=sheet_of(planned),
                found=readings.get(line.serial) if line.serial else None,
                as_left=left[0] if left else None,
                left_at=left[1] if left else None,
                mount=mount.pose if mount else None,
                planned_from=planned,
            )
        )
    return tuple(units)


def build_house_state(
    inventory: Inventory,
    lap: LapEvidence,
    live: Mapping[str, LiveUnit],
    now: datetime,
) -> HouseState:
    """Build the state that the faces show."""
    beliefs = read_beliefs(inventory, lap, live)
    findings = all_findings(beliefs)
    changes = pending_changes(beliefs.units, standing_choices(inventory, beliefs.units))
    rooms = {room.key: _room_result(room, beliefs, findings) for room in beliefs.plan.rooms}
    scheduled = {unit.line.serial for unit in beliefs.units}
    return HouseState(
        plan=beliefs.plan,
        units={unit.line.serial or unit.line.label: unit for unit in beliefs.units},
        unplaced=tuple(
            reading for serial, reading in inventory.readings().items() if serial not in scheduled
        ),
        sightings=inventory.sightings(),
        changes=changes,
        findings=findings,
        rooms=rooms,
        jobs=jobs_of(beliefs.plan, beliefs.units, changes, findings, rooms),
        doubtful=inventory.open_steps(),
        signatures=beliefs.signatures,
        read_only=inventory.read_only,
        drift=drift_lines(beliefs.units, beliefs.plan.approved_builds, now),
        campaign=inventory.campaigns.one(),
        unfinished=inventory.unfinished_steps(),
    )


def all_findings(beliefs: Beliefs) -> tuple[Finding, ...]:
    """List every finding, in the order of rooms and schedule."""
    found = (
        *findings_from_reading(beliefs.plan, beliefs.units, beliefs.lost_ppm),
        *soak_findings(beliefs.plan),
        *findings_from_lap(beliefs.plan, beliefs.lap),
    )
    order = {room.key: number for number, room in enumerate(beliefs.plan.rooms)}
    return tuple(sorted(found, key=lambda finding: (order[finding.room], finding.unit)))


def _room_result(room: Room, beliefs: Beliefs, findings: Sequence[Finding]) -> RoomResult:
    units = [unit for unit in beliefs.units if unit.line.room == room.key]
    signature = beliefs.signatures.get(room.key)
    evidence = RoomEvidence(
        plan=beliefs.plan,
        room=room,
        units=units,
        findings=findings,
        walked_at=beliefs.lap.walked_at.get(room.key, ""),
        unseen=_unseen(units, beliefs.lap),
        soaks=_soaks(beliefs.plan),
        ticks=beliefs.ticks.get(room.key, {}),
        signed_by=f"{signature.name}, {signature.role}" if signature else "",
    )
    modules = [unit.line.module_type for unit in units]
    checklist = checklist_with(checklist_for(room.kind), room, modules, beliefs.templates)
    return fill(checklist, evidence)


def _unseen(units: Sequence[Unit], lap: LapEvidence) -> Mapping[str, str]:
    return {
        unit.line.label: "saw nobody on the lap clearly enough to say where it hangs"
        for unit in units
        if not lap.home_of(unit.line.serial)
    }


def _soaks(plan: HousePlan) -> Mapping[str, tuple[Outcome, str]]:
    answers: dict[str, tuple[Outcome, str]] = {}
    for note in plan.visits[-1].soaks if plan.visits else ():
        verdict = judge_soak(note)
        answers[note.unit] = (verdict.outcome, soak_reason(note, verdict.upper_per_day))
    return answers

"""Checklists: what a room must show, filled from evidence where evidence can fill it.

An item's key says what evidence counts; its text is a file's (`resources/checklists/`), one for each kind
of room. An item of the kind *auto* can't be ticked by hand, and what has no trial yet says *not tested*,
which never passes.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import msgspec

from fleet.jobs.builds import drift
from fleet.jobs.comparing import compare, with_standing
from fleet.model.errors import PlanError
from fleet.model.findings import Finding, FindingKind, ItemResult, Outcome, RoomResult
from fleet.model.house import HousePlan, Room, SoakNote
from fleet.model.sheets import Standing
from fleet.model.units import Unit

OPEN_STANDINGS = (
    Standing.TO_APPLY,
    Standing.CHANGED_ON_SITE,
    Standing.CONFLICT,
    Standing.UNREADABLE,
)


@dataclass(frozen=True, slots=True)
class ChecklistItem:
    """One line of a checklist: its key, what it asks, and whether it is auto, tick, photo or signature."""

    key: str
    text: str
    evidence: str


@dataclass(frozen=True, slots=True)
class Checklist:
    """What a kind of room must show."""

    kind: str
    items: tuple[ChecklistItem, ...]
    format: str = "walkdown-checklist/1"


@dataclass(frozen=True, slots=True)
class RoomEvidence:
    """All that bears on one room's checklist.

    Attributes:
        plan: the property.
        room: the room.
        units: its units.
        findings: all findings of the house.
        walked_at: when the lap walked it, RFC 3339; "" if it didn't.
        unseen: labels of the room's units that the lap could not tell the mount of, or that saw nobody.
        soaks: unit label → outcome and reason of its soak.
        ticks: item → who ticked it and what they said.
        signed_by: who accepted the room at this visit.
    """

    plan: HousePlan
    room: Room
    units: Sequence[Unit]
    findings: Sequence[Finding]
    walked_at: str = ""
    unseen: Mapping[str, str] = field(default_factory=dict)
    soaks: Mapping[str, tuple[Outcome, str]] = field(default_factory=dict)
    ticks: Mapping[str, str] = field(default_factory=dict)
    signed_by: str = ""


Answer = tuple[Outcome, str]


def checklist_from(document: Mapping[str, Any], *, subject: str) -> Checklist:
    """Turn a checklist file's document into a checklist.

    Raises:
        PlanError: a member is missing or of the wrong type.
    """
    try:
        return msgspec.convert(document, Checklist)
    except msgspec.ValidationError as reason:
        raise PlanError(f"the checklist can't be used: {reason}.", subject=subject) from reason


def fill(checklist: Checklist, evidence: RoomEvidence) -> RoomResult:
    """Answer each item of a room's checklist from the evidence there is."""
    items = tuple(_answered(item, evidence) for item in checklist.items)
    return RoomResult(evidence.room.key, items, evidence.signed_by)


def _answered(item: ChecklistItem, evidence: RoomEvidence) -> ItemResult:
    outcome, reason = _answer(item, evidence)
    return ItemResult(item.key, item.text, item.evidence, outcome, reason)


def _answer(item: ChecklistItem, evidence: RoomEvidence) -> Answer:
    if item.evidence == "auto":
        rule = _RULES.get(item.key)
        return rule(evidence) if rule else (Outcome.NOT_TESTED, "there is no trial for it yet")
    if item.evidence == "signature":
        if evidence.signed_by:
            return Outcome.PASS, f"accepted by {evidence.signed_by}"
        return Outcome.NOT_TESTED, "nobody has accepted the room at this visit"
    said = evidence.ticks.get(item.key)
    return (Outcome.PASS, said) if said else (Outcome.NOT_TESTED, "not done yet")


def _units_answer(evidence: RoomEvidence) -> Answer:
    silent = [unit.line.label for unit in evidence.units if unit.found is None]
    if not evidence.units:
        return Outcome.NOT_TESTED, "no unit is placed here"
    if silent:
        return Outcome.NOT_TESTED, f"never read: {', '.join(silent)}"
    return Outcome.PASS, f"all {len(evidence.units)} were read"


def _from_findings(*kinds: FindingKind) -> Callable[[RoomEvidence], Answer | None]:
    def rule(evidence: RoomEvidence) -> Answer | None:
        labels = {unit.line.label for unit in evidence.units}
        reasons = [
            f"{finding.unit}: {finding.reason}"
            for finding in evidence.findings
            if finding.kind in kinds and finding.unit in labels
        ]
        return (Outcome.FAIL, "; ".join(reasons)) if reasons else None

    return rule


def _right_unit(evidence: RoomEvidence) -> Answer:
    if not evidence.walked_at:
        return Outcome.NOT_TESTED, "the room wasn't walked"
    labels = {unit.line.label for unit in evidence.units}
    crossed = [f for f in evidence.findings if f.kind is FindingKind.LABELS_CROSSED]
    for finding in crossed:
        if finding.unit in labels or finding.evidence.get("crossed_with") in labels:
            return Outcome.FAIL, f"{finding.unit}: {finding.reason}"
    if evidence.unseen:
        return Outcome.INCONCLUSIVE, "; ".join(f"{k}: {v}" for k, v in evidence.unseen.items())
    return Outcome.PASS, "each unit answers to a walk of this room"


def _walked(kinds: tuple[FindingKind, ...], passed: str) -> Callable[[RoomEvidence], Answer]:
    failed = _from_findings(*kinds)

    def rule(evidence: RoomEvidence) -> Answer:
        if not evidence.walked_at:
            return Outcome.NOT_TESTED, "the room wasn't walked"
        return failed(evidence) or (Outcome.PASS, passed)

    return rule


def _build(evidence: RoomEvidence) -> Answer:
    failed = _from_findings(
        FindingKind.BUILD_BEHIND, FindingKind.MATCH_UNKNOWN, FindingKind.MODULE_SWAPPED
    )(evidence)
    if failed:
        return failed
    plan, read = evidence.plan, [unit.found for unit in evidence.units if unit.found]
    states = [drift(found.sheet, plan.approved_builds, plan.matches) for found in read]
    if not states or not all(state.current for state in states):
        return Outcome.NOT_TESTED, "no approved build is known for every unit here"
    return Outcome.PASS, "each unit runs the build approved for it"


def _items_as_planned(
    prefix: str, kinds: tuple[FindingKind, ...]
) -> Callable[[RoomEvidence], Answer]:
    failed = _from_findings(*kinds)

    def rule(evidence: RoomEvidence) -> Answer:
        found = failed(evidence)
        if found:
            return found
        read = [unit for unit in evidence.units if unit.found]
        if not read or len(read) < len(evidence.units):
            return Outcome.NOT_TESTED, "not every unit was read"
        differing = [
            f"{unit.line.label} {item.key} {item.standing}"
            for unit in read
            for item in with_standing(
                compare(unit.planned, unit.found.sheet if unit.found else None, unit.as_left),
                *OPEN_STANDINGS,
            )
            if item.key.startswith(prefix) and item.planned is not None
        ]
        return (Outcome.FAIL, "; ".join(differing)) if differing else (Outcome.PASS, "as planned")

    return rule


def _link(evidence: RoomEvidence) -> Answer:
    failed = _from_findings(FindingKind.WEAK_LINK)(evidence)
    if failed:
        return failed
    if any(unit.found is None for unit in evidence.units) or not evidence.units:
        return Outcome.NOT_TESTED, "not every unit was read"
    return Outcome.PASS, "signal and numbered reports are within bounds"


def _soak(evidence: RoomEvidence) -> Answer:
    outcomes = {u.line.label: evidence.soaks.get(u.line.label) for u in evidence.units}
    known = {label: answer for label, answer in outcomes.items() if answer}
    for worst in (Outcome.FAIL, Outcome.INCONCLUSIVE):
        for label, (outcome, reason) in known.items():
            if outcome is worst:
                return outcome, f"{label}: {reason}"
    if not known or len(known) < len(outcomes):
        return Outcome.NOT_TESTED, "no soak trial of every unit here"
    return Outcome.PASS, "; ".join(reason for _, reason in known.values())


def soak_reason(note: SoakNote, upper_per_day: float) -> str:
    """Word a soak with its bound."""
    return (
        f"{note.episodes} false episodes in {note.empty_s / 3600:g} h empty: "
        f"at most {upper_per_day:.1f} a day"
    )


_RULES: Mapping[str, Callable[[RoomEvidence], Answer]] = {
    "units-answer": _units_answer,
    "right-unit": _right_unit,
    "mount": _walked((FindingKind.MIRRORED_MOUNT,), "no unit fits better turned over"),
    "build": _build,
    "settings": _items_as_planned(
        "setting.", (FindingKind.SETTING_CHANGED, FindingKind.MODULE_SWAPPED)
    ),
    "areas": _items_as_planned("areas.", (FindingKind.AREA_PAST_WALL, FindingKind.MODULE_SWAPPED)),
    "link": _link,
    "bleed-through": _walked((FindingKind.BLEED_THROUGH,), "no walker next door was seen"),
    "ghosts": _walked((FindingKind.GHOST, FindingKind.FAN), "nobody was seen beyond the walls"),
    "soak": _soak,
}

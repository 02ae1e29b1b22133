"""What is left to do, as lines that each name a subject, the reason and one thing to do."""

from collections.abc import Iterable, Mapping, Sequence

from fleet.model.findings import Finding, FindingKind, Outcome, RoomResult
from fleet.model.house import HousePlan
from fleet.model.journal import Change
from fleet.model.sheets import Standing
from fleet.model.snapshot import ItemState, Job
from fleet.model.units import Unit

BUILD_KINDS = (FindingKind.BUILD_BEHIND, FindingKind.MATCH_UNKNOWN)

STATE_OF_OUTCOME = {
    Outcome.PASS: ItemState.SHOWN,
    Outcome.FAIL: ItemState.WRONG,
    Outcome.INCONCLUSIVE: ItemState.LOOK,
    Outcome.NOT_TESTED: ItemState.NOT_TESTED,
}


def jobs_of(
    plan: HousePlan,
    units: Sequence[Unit],
    changes: Sequence[Change],
    findings: Sequence[Finding],
    rooms: Mapping[str, RoomResult],
) -> tuple[Job, ...]:
    """List what is left to do: builds, settings and areas, sign-off, snags, in that order."""
    return (
        *_build_jobs(findings),
        *_change_jobs(units, changes),
        *_sign_off_jobs(plan, rooms),
        *_snags(findings),
    )


def _build_jobs(findings: Iterable[Finding]) -> Iterable[Job]:
    for finding in findings:
        if finding.kind in BUILD_KINDS:
            yield Job(
                key=f"build:{finding.unit}:{finding.kind}",
                group="builds",
                room=finding.room,
                unit=finding.unit,
                title=f"{finding.unit} {finding.kind.replace('-', ' ')}",
                reason=finding.reason,
                action="Look",
                state=ItemState.LOOK,
            )


def _change_jobs(units: Iterable[Unit], changes: Sequence[Change]) -> Iterable[Job]:
    for unit in units:
        own = [change for change in changes if change.serial == unit.line.serial]
        for standing in (Standing.TO_APPLY, Standing.CHANGED_ON_SITE, Standing.CONFLICT):
            items = [change for change in own if change.standing is standing]
            if items:
                yield _change_job(unit, standing, items)


def _change_job(unit: Unit, standing: Standing, items: Sequence[Change]) -> Job:
    what = items[0].key if len(items) == 1 else f"{len(items)} items"
    to_apply = standing is Standing.TO_APPLY
    return Job(
        key=f"settings:{unit.line.serial}:{standing}",
        group="settings",
        room=unit.line.room,
        unit=unit.line.label,
        title=f"{unit.line.label} {what}",
        reason=f"{standing}: {items[0].reason}",
        action="Review" if to_apply else "Decide",
        state=ItemState.TO_DO if to_apply else ItemState.LOOK,
    )


def _sign_off_jobs(plan: HousePlan, rooms: Mapping[str, RoomResult]) -> Iterable[Job]:
    for room in plan.rooms:
        result = rooms.get(room.key)
        if result is None or result.signed_by:
            continue
        failed = [item for item in result.items if item.outcome is Outcome.FAIL]
        yield Job(
            key=f"sign-off:{room.key}",
            group="sign-off",
            room=room.key,
            unit="",
            title=room.name,
            reason=_sign_off_reason(result, len(failed)),
            action="Checklist",
            state=ItemState.WRONG if failed else ItemState.TO_DO,
        )


def _sign_off_reason(result: RoomResult, failed: int) -> str:
    shown = f"{result.shown} of {len(result.items)} shown"
    return f"{shown}, {failed} failed" if failed else shown


def _snags(findings: Iterable[Finding]) -> Iterable[Job]:
    for finding in findings:
        if finding.kind not in (*BUILD_KINDS, FindingKind.SETTING_CHANGED):
            yield Job(
                key=f"snag:{finding.room}:{finding.unit}:{finding.kind}",
                group="snags",
                room=finding.room,
                unit=finding.unit,
                title=f"{finding.unit} {finding.kind.replace('-', ' ')}".strip(),
                reason=finding.reason,
                action="Look",
                state=ItemState.WRONG,
            )

"""Swapping a unit or its module in the inventory: planned from what is kept, done as one transaction.

Nothing is sent to a unit here. What the new one should hold waits in the review like any other change.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

import msgspec

from fleet.engine.evidence_store import HOUSE, LAP, load_lap, load_losses
from fleet.engine.lapses import (
    AS_LEFT,
    LAPSE,
    SIGN_OFF,
    SOAK,
    TICK,
    left_that_stands,
    load_lapses,
    plan_that_stands,
    signatures_that_stand,
    ticks_that_stand,
)
from fleet.inventory.inventory import Inventory
from fleet.inventory.swaps import Shown
from fleet.inventory.texts import sha256_of
from fleet.jobs.swap_lapses import LapseKind, SwapEvidence
from fleet.jobs.swap_signs import Module, SwapKind, SwapSign, module_of, silent_serials, swap_signs
from fleet.jobs.swapping import SiteRules, SwapPlan, lapses_in, plan_swap
from fleet.model.errors import PlanError
from fleet.model.geometry import Pose
from fleet.model.house import HousePlan, Room, Signature
from fleet.model.journal import JournalRow
from fleet.model.sheets import Sheet
from fleet.model.snapshot import HouseState
from fleet.model.units import Reading, Unit
from fleet.trials.lap_evidence import LapEvidence, Mount

RESET = "unit-reset"
"""Word of the journal's row by which a person says that a unit had been reset."""

FULL_TURN_MDEG = 360_000

_OF_THE_LAP = (LapseKind.FIT, LapseKind.SEEN, LapseKind.GHOSTS, LapseKind.WALK)


def signs_of(house: HouseState) -> tuple[SwapSign, ...]:
    """List what looks like a swap, by what is heard at a visit."""
    return swap_signs(tuple(house.units.values()), house.unplaced, silent_serials(house.expected))


def planned_swap(
    inventory: Inventory,
    house: HouseState,
    label: str,
    serial: str = "",
    *,
    kind: SwapKind | None = None,
    mount: Pose | None = None,
    chosen_areas: Sequence[str] = (),
) -> SwapPlan:
    """Say what a swap would come to, by the last reading of the new unit.

    Args:
        inventory: open; nothing of it changes.
        house: its state.
        label: whose place it is.
        serial: who takes it over; "" for the unit itself with another module, or reset.
        kind: what a person says was exchanged; None for what the readings show.
        mount: how the new one is fixed; None for as the old one.
        chosen_areas: ids of areas to keep first where the new one holds fewer.

    Raises:
        PlanError: no such label, the new one was never read or has another place, or the two don't fit.
    """
    unit = _unit_of(house, label)
    reading = _reading_of(inventory, house, unit, serial or unit.line.serial)
    room = next(room for room in house.plan.rooms if room.key == unit.line.room)
    decisions = inventory.planned_decisions()
    rules = SiteRules(
        house.plan.approved_builds,
        tuple(kept.template for kept in inventory.templates()),
        decisions.get(unit.line.serial, {}),
        decisions.get(reading.serial, {}),
    )
    return plan_swap(
        unit,
        reading,
        room,
        evidence_of(inventory, house, unit, room),
        rules=rules,
        kind=kind,
        mount=mount,
        chosen_areas=chosen_areas,
    )


def mount_as_said(
    pose: Pose, *, upside_down: bool | None = None, heading_mdeg: int | None = None
) -> Pose | None:
    """Return how a new unit is fixed by what a person says; None for as the old one.

    Args:
        pose: how the old one is fixed.
        upside_down: whether the new one is; None for as the old one.
        heading_mdeg: where it looks, counter-clockwise from plan x; None for as the old one.
    """
    turned = pose.upside_down if upside_down is None else upside_down
    heading = pose.heading_mdeg if heading_mdeg is None else heading_mdeg % FULL_TURN_MDEG
    said = replace(pose, upside_down=turned, heading_mdeg=heading)
    return None if said == pose else said


def swap(inventory: Inventory, plan: SwapPlan, *, by: str, why: str) -> JournalRow:
    """Carry a planned swap out in the inventory, in one transaction; return the journal's row.

    Raises:
        PlanError: nobody stands for it, or the schedule changed since it was planned.
        InventoryError: it can't be stored; nothing of it is then.
    """
    label = plan.line.label
    if not by.strip() or not why.strip():
        raise PlanError(
            "who swaps it, and why, has to be said.", subject=label, stands="Nothing was swapped."
        )
    if plan.kind is SwapKind.RESET:
        detail = {"label": label, "by": by, "why": why, "to_do": list(plan.to_do)}
        return inventory.append(RESET, plan.line.serial, detail)
    return inventory.swaps.carry_out(
        plan.before,
        plan.line,
        plan.decisions,
        _documents(inventory, plan),
        _detail_of(inventory, plan),
        by=by,
        why=why,
    )


def evidence_of(inventory: Inventory, house: HouseState, unit: Unit, room: Room) -> SwapEvidence:
    """Gather what has been shown of a unit and its room, and still counts."""
    serial, label = unit.line.serial, unit.line.label
    lap, lapses = load_lap(inventory), load_lapses(inventory)
    plan = plan_that_stands(inventory.plan(), lapses)
    ticks = ticks_that_stand(inventory.ticks(), lapses).get(room.key, {})
    left = left_that_stands(inventory.as_left(), plan, lapses).get(serial)
    mount, beyond = lap.mounts.get(serial), lap.beyond.get(serial)
    return SwapEvidence(
        rooms=house.plan.rooms,
        walked_at=lap.walked_at,
        seen_ppm={key: row[serial] for key, row in lap.shares_ppm.items() if serial in row},
        fit=_fit_in_words(mount) if mount else "",
        ghost_ppm=beyond.share_ppm if beyond else None,
        lost_ppm=load_losses(inventory).get(serial),
        soaks=[(note, v.left_at) for v in plan.visits for note in v.soaks if note.unit == label],
        result=house.rooms.get(room.key),
        ticked_at={item: tick.at for item, tick in ticks.items()},
        signatures=_signatures(inventory, plan, room),
        left_at=left[1] if left else None,
        since=_module_since(inventory, unit),
    )


def lap_without(lap: LapEvidence, serial: str, room: str) -> LapEvidence:
    """Return what a lap proves without one unit, and without its room having been walked. Pure.

    Columns, fits and ghosts of every other unit stay as they are.
    """
    return replace(
        lap,
        shares_ppm={
            key: {one: ppm for one, ppm in row.items() if one != serial}
            for key, row in lap.shares_ppm.items()
        },
        mounts={one: mount for one, mount in lap.mounts.items() if one != serial},
        beyond={one: seen for one, seen in lap.beyond.items() if one != serial},
        walked_at={key: at for key, at in lap.walked_at.items() if key != room},
    )


def _unit_of(house: HouseState, label: str) -> Unit:
    unit = next((one for one in house.units.values() if one.line.label == label), None)
    if unit is None:
        raise PlanError(
            "there is no such label on the schedule.",
            subject=label,
            stands="Nothing was swapped.",
            next_step=f"Name one of: {', '.join(u.line.label for u in house.units.values())}.",
        )
    return unit


def _reading_of(inventory: Inventory, house: HouseState, unit: Unit, serial: str) -> Reading:
    label = unit.line.label
    elsewhere = [one.label for one in house.plan.units if one.serial == serial != unit.line.serial]
    if serial and elsewhere:
        raise PlanError(
            f"{serial} stands on {elsewhere[0]}.",
            subject=label,
            stands="Nothing was swapped.",
            next_step=f"If the two hang crossed, change their places; else swap {elsewhere[0]} first.",
        )
    reading = inventory.readings().get(serial)
    if reading is None:
        raise PlanError(
            f"{serial or 'its unit'} was never read, so what it can take over isn't known.",
            subject=label,
            stands="Nothing was swapped.",
            next_step="Have it heard, or name its address, so that it is read.",
        )
    return reading


def _signatures(inventory: Inventory, plan: HousePlan, room: Room) -> list[Signature]:
    """Return who accepted a room at the last visit, and at this one; a void one counts no more."""
    lapses = load_lapses(inventory)
    before = {
        visit.room: visit.signature
        for visit in (plan.visits[-1].rooms if plan.visits else ())
        if visit.signature is not None
    }
    both = [signatures_that_stand(one, lapses) for one in (before, inventory.signatures())]
    return [one[room.key] for one in both if room.key in one]


def _module_since(inventory: Inventory, unit: Unit) -> datetime | None:
    """Return when a unit's present module was first read; None where no other was read or left."""
    if unit.found is None:
        return None
    now = module_of(unit.found)
    since: datetime | None = None
    another = False
    for kept in inventory.sheets_of_unit(unit.line.serial):
        if _is_of(kept.sheet, now):
            since = since or kept.at
        else:
            since, another = None, True
    return since if another else None


def _is_of(sheet: Sheet, module: Module) -> bool:
    """Say whether a sheet is of a module, as far as both say."""
    pairs = (("module.type", module.type), ("module.firmware", module.firmware))
    return all(not one or sheet.get(key, one) == one for key, one in pairs)


def _fit_in_words(mount: Mount) -> str:
    if mount.fits_as_planned or not mount.fits_turned:
        return f"{mount.planned_rms_mm / 1000:.2f} m RMS as planned"
    return f"{mount.turned_rms_mm / 1000:.2f} m RMS turned over"


def _documents(inventory: Inventory, plan: SwapPlan) -> Callable[[datetime], Sequence[Shown]]:
    """Return what gives the evidence to keep: what is void until now, and the lap without the unit."""
    earlier = load_lapses(inventory).get(plan.line.label)
    lap, serial, room = load_lap(inventory), plan.before.serial, plan.line.room

    def give(now: datetime) -> Sequence[Shown]:
        until = dict(earlier.until) if earlier else {}
        until |= dict.fromkeys(_void_of(plan), now)
        document = {
            "room": room,
            "kind": plan.kind.value,
            "serial_before": serial,
            "serial": plan.line.serial,
            "until": {what: at.isoformat() for what, at in until.items()},
            "lapses": list(plan.lapses),
        }
        shown = [Shown(LAPSE, plan.line.label, document)]
        if lapses_in(plan, *_OF_THE_LAP):
            without = msgspec.to_builtins(lap_without(lap, serial, room))
            shown.append(Shown(LAP, HOUSE, without))
        return shown

    return give


def _void_of(plan: SwapPlan) -> Sequence[str]:
    """Return what is void from now on; another unit's own sheet of elsewhere never was of this place."""
    names = {LapseKind.SOAK: SOAK, LapseKind.AS_LEFT: AS_LEFT, LapseKind.SIGN_OFF: SIGN_OFF}
    void = {names[one.kind] for one in plan.lapsed if one.kind in names}
    void |= {f"{TICK}{one.subject}" for one in lapses_in(plan, LapseKind.TICK)}
    if plan.line.serial != plan.before.serial:
        void.add(AS_LEFT)
    return sorted(void)


def _detail_of(inventory: Inventory, plan: SwapPlan) -> Mapping[str, Any]:
    """Return what the journal says of the swap: which sheets it was between, and what it did."""
    left, readings = inventory.as_left().get(plan.before.serial), inventory.readings()
    old, new = readings.get(plan.before.serial), readings[plan.line.serial]
    return {
        "kind": plan.kind.value,
        "old_left_sha256": sha256_of(left[0]) if left else "",
        "old_found_sha256": sha256_of(old.sheet) if old else "",
        "new_found_sha256": sha256_of(new.sheet),
        "carries": list(plan.carries),
        "dropped": list(plan.dropped),
        "lapses": list(plan.lapses),
        "to_do": list(plan.to_do),
    }

"""What a visit changes in units: apply, restore, install; each planned, journaled and read back."""

from collections.abc import Callable, Sequence

from fleet.engine.apply_run import Hands, apply_changes, rehearse_changes
from fleet.engine.applying import StepResult
from fleet.engine.campaign_works import CampaignWorks
from fleet.engine.evidence_store import load_lap
from fleet.engine.operations import Operation
from fleet.engine.rehearsing import Rehearsal
from fleet.engine.restoring import plan_restoring
from fleet.engine.settling import Remedy, let_be, put_right, settle_all
from fleet.engine.swapping import planned_swap, swap
from fleet.inventory.kept_sheets import KeptSheet
from fleet.jobs.planning import where_from
from fleet.jobs.restoring import Restoring
from fleet.jobs.swap_signs import SwapKind
from fleet.jobs.swapping import SwapPlan
from fleet.model.errors import PlanError
from fleet.model.geometry import Pose
from fleet.model.journal import Change, OpenStep, WriteStep
from fleet.model.templates import OriginRow


class UnitWorks(CampaignWorks):
    """What a visit writes to units. `Visit` is one; everything is called in its loop."""

    @property
    def _hands(self) -> Hands:
        return Hands(self._inventory, self._fleet.link_to, self._fleet.read_again)

    async def apply(
        self, changes: Sequence[Change], *, by: str, why: str = ""
    ) -> tuple[StepResult, ...]:
        """Write chosen changes, unit by unit, each journaled before and read back after.

        Args:
            changes: chosen by a person.
            by: that person.
            why: where it isn't done for the plan: what for.

        Raises:
            PlanError: a change names a unit that was never read.
            InventoryError: the journal can't be written.
        """
        with self._operations.begin("Apply", can_stop=True) as operation:
            results = await apply_changes(
                self._hands, changes, by=by, why=why, before_each=_progress(operation)
            )
        self._publisher.refresh()
        return results

    async def dry_run(self, changes: Sequence[Change]) -> tuple[Rehearsal, ...]:
        """Do all of an apply but the writes."""
        with self._operations.begin("Dry run"):
            return await rehearse_changes(self._hands, changes)

    async def settle(self) -> tuple[StepResult, ...]:
        """Settle the steps of an apply that was cut off, by reading what their units hold."""
        results = await settle_all(self._inventory, self._fleet.link_to)
        self._publisher.refresh()
        return results

    async def put_right(self, key: str, remedy: Remedy, *, by: str) -> StepResult:
        """Resume a step that is partly done, or roll it back.

        Raises:
            PlanError: there is no such step, or nobody is named.
            LinkError, UnitError: its unit can't be read; nothing was sent.
        """
        step = self._unfinished(key)
        link = self._fleet.link_to(step.step.serial)
        try:
            result = await put_right(self._inventory, link, step, remedy, by=by)
            await self._fleet.read_again(step.step.serial)
            return result
        finally:
            self._publisher.refresh()

    async def let_be(self, key: str, *, by: str, reason: str) -> None:
        """Leave a step partly done, in a person's name.

        Raises:
            PlanError: there is no such step, nobody is named, or no reason given.
        """
        let_be(self._inventory, self._unfinished(key), by=by, reason=reason)
        self._publisher.refresh()

    async def kept_sheets(self, serial: str) -> tuple[KeptSheet, ...]:
        """Return the sheets that are kept of a unit, oldest first."""
        return self._inventory.sheets_of_unit(serial)

    async def plan_restore(self, serial: str, key: str) -> Restoring:
        """Read a unit; return what would be written to bring it to a kept sheet, and what can't be.

        Raises:
            PlanError: no such sheet is kept.
            LinkError, UnitError: the unit can't be read.
        """
        for kept in self._inventory.sheets_of_unit(serial):
            if kept.key == key:
                label = self._labels().get(serial, "")
                return await plan_restoring(self._hands, serial, kept, label)
        raise PlanError("no such sheet is kept of the unit.", subject=f"{serial} {key}")

    async def where_from(self, serial: str) -> tuple[OriginRow, ...]:
        """Return where each planned value of a unit comes from.

        Raises:
            PlanError: it isn't on the schedule.
        """
        unit = self._publisher.latest.house.units.get(serial)
        if unit is None:
            raise PlanError("it isn't on the schedule.", subject=serial)
        return where_from(unit)

    async def plan_swap(
        self,
        label: str,
        serial: str,
        *,
        kind: SwapKind | None = None,
        mount: Pose | None = None,
        chosen_areas: Sequence[str] = (),
    ) -> SwapPlan:
        """Say what a swap would come to; nothing changes.

        Args:
            label: the place on the schedule.
            serial: of the unit that takes it over; its own where its module was exchanged, or it was reset.
            kind: what a person says was exchanged; None for what the readings show.
            mount: how the new one is fixed; None for as the old one.
            chosen_areas: ids of areas to keep first where the new one holds fewer.

        Raises:
            PlanError: no such label, the new one was never read or has another place, or they don't fit.
        """
        house = self._publisher.refresh()
        return planned_swap(
            self._inventory,
            house,
            label,
            serial,
            kind=kind,
            mount=mount,
            chosen_areas=chosen_areas,
        )

    async def swap(self, plan: SwapPlan, *, by: str, why: str) -> None:
        """Carry a swap out in the inventory; nothing is sent to a unit.

        Raises:
            PlanError: nobody stands for it, or the schedule changed since it was planned.
        """
        swap(self._inventory, plan, by=by, why=why)
        self._publisher.lap = load_lap(self._inventory)
        self._publisher.refresh()

    def _unfinished(self, key: str) -> OpenStep:
        for step in self._inventory.unfinished_steps():
            if step.key == key:
                return step
        raise PlanError("no step of that key is partly done.", subject=key)


def _progress(operation: Operation) -> Callable[[WriteStep, float], bool]:
    def say(step: WriteStep, share: float) -> bool:
        operation.say(f"{step.label} {step.part}", share)
        return not operation.stop_asked

    return say

"""What a person chooses beside `walkdown apply`: about open items, and about steps that are partly done."""

import argparse
from collections.abc import Sequence
from dataclasses import replace

from fleet.cli.clocks import real_clock
from fleet.cli.reached import Reached
from fleet.engine.applying import StepResult
from fleet.engine.evidence_store import load_lap
from fleet.engine.house_state import build_house_state
from fleet.engine.settling import Remedy, let_be, put_right
from fleet.inventory.inventory import Inventory
from fleet.jobs.deciding import DECIDED, detail_of
from fleet.jobs.merging import refuse_unfit_choice
from fleet.model.errors import PlanError
from fleet.model.journal import Change, OpenStep
from fleet.model.sheets import Choice, Comparison, Standing, Take


def add_choice_arguments(parser: argparse.ArgumentParser) -> None:
    """Say which choices there are."""
    add = parser.add_argument
    item, step = "LABEL:ITEM", "STEP"
    add("--keep-found", action="append", default=[], metavar=item, help="plan what was found")
    add("--take-planned", action="append", default=[], metavar=item, help="go back to the plan")
    add("--reason", default="", metavar="WHY", help="why it is chosen so")
    add("--resume", action="append", default=[], metavar=step, help="write what is missing of it")
    add("--roll-back", action="append", default=[], metavar=step, help="write back what stood")
    add("--let-be", action="append", default=[], metavar=step, help="leave it partly done")


def pending_of(inventory: Inventory) -> tuple[Change, ...]:
    """Return what differs from the plan of the current site and can be written."""
    return build_house_state(inventory, load_lap(inventory), {}, real_clock().now()).changes


def choose(
    inventory: Inventory, changes: Sequence[Change], arguments: argparse.Namespace, by: str
) -> tuple[Change, ...]:
    """Keep a person's choices about items, and return the changes as they stand then.

    On a dry run nothing is kept; the changes are returned as if it were.

    Raises:
        PlanError: an item isn't open, or no reason is given.
        InventoryError: it can't be kept.
    """
    named = dict.fromkeys(arguments.keep_found, Take.FOUND)
    named |= dict.fromkeys(arguments.take_planned, Take.PLANNED)
    left = dict(named)
    stand: list[Change] = []
    for change in changes:
        take = left.pop(f"{change.label}:{change.key}", None)
        if take is None:
            stand.append(change)
            continue
        choice = Choice(take, by, arguments.reason)
        _keep(inventory, change, choice, dry_run=arguments.dry_run)
        if take is Take.PLANNED:
            stand.append(replace(change, standing=Standing.TO_APPLY))
    for word in left:
        raise PlanError("that item isn't open.", subject=word, stands="Nothing was chosen for it.")
    return tuple(stand)


async def follow_up(
    units: Reached, arguments: argparse.Namespace, by: str
) -> tuple[StepResult, ...]:
    """Resume, roll back or let be the steps that a person named; nothing on a dry run.

    Raises:
        PlanError: there is no such step that is partly done, or no reason is given.
        LinkError, UnitError: a unit can't be read; nothing was sent to it.
        InventoryError: the journal can't be written.
    """
    if arguments.dry_run:
        return ()
    inventory, results = units.inventory, []
    remedies = dict.fromkeys(arguments.resume, Remedy.RESUME)
    remedies |= dict.fromkeys(arguments.roll_back, Remedy.ROLL_BACK)
    for key, remedy in remedies.items():
        unfinished = _unfinished(inventory, key)
        link = units.hands.link_to(unfinished.step.serial)
        results.append(await put_right(inventory, link, unfinished, remedy, by=by))
        await units.hands.read_again(unfinished.step.serial)
    for key in arguments.let_be:
        let_be(inventory, _unfinished(inventory, key), by=by, reason=arguments.reason)
    return tuple(results)


def _keep(inventory: Inventory, change: Change, choice: Choice, *, dry_run: bool) -> None:
    item = Comparison(
        change.key, change.planned, change.found, change.as_left, standing=change.standing
    )
    refuse_unfit_choice(item, choice)
    if dry_run:
        return
    if choice.take is Take.FOUND:
        inventory.save_planned_item(
            change.serial, change.key, change.found, why=choice.why, by=choice.by
        )
    inventory.append(DECIDED, change.serial, detail_of(item, choice))


def _unfinished(inventory: Inventory, key: str) -> OpenStep:
    for unfinished in inventory.unfinished_steps():
        if unfinished.key == key:
            return unfinished
    raise PlanError(
        "no step of that key is partly done.",
        subject=key,
        stands="Nothing was written.",
        next_step="`walkdown apply --dry-run --all` names those that are.",
    )

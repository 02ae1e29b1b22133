"""`walkdown apply`: write what is planned and doesn't stand yet, shown first and read back after."""

import argparse
import asyncio
from collections.abc import Sequence

from fleet.cli.apply_choices import add_choice_arguments, choose, follow_up, pending_of
from fleet.cli.reached import (
    Reached,
    add_naming_arguments,
    add_reaching_arguments,
    agreed,
    may_write,
    name_of,
    reached,
)
from fleet.cli.saying import DONE, FAILED, REPORTED, USAGE, say, say_error, table
from fleet.engine.apply_run import apply_changes, rehearse_changes
from fleet.engine.applying import StepResult
from fleet.engine.rehearsing import Rehearsal
from fleet.engine.settling import settle_all
from fleet.model.errors import PlanError
from fleet.model.journal import Change, StepState
from fleet.model.sheets import Standing, Value

HEAD = ("unit", "item", "as left", "found", "planned", "reason", "disrupts")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument(
        "which", nargs="*", default=[], metavar="LABEL[:ITEM]", help="a unit, or one item of it"
    )
    parser.add_argument("--all", action="store_true", help="every unit of the site")
    parser.add_argument(
        "--dry-run", action="store_true", help="do all of it but the writes: only read"
    )
    add_choice_arguments(parser)
    add_naming_arguments(parser)
    add_reaching_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Meet the units, settle what is in doubt, show what would be written, and write it."""
    named = arguments.which or arguments.keep_found or arguments.take_planned
    follows = arguments.resume or arguments.roll_back or arguments.let_be
    if not (named or arguments.all or follows):
        say_error("say what to apply: LABEL, LABEL:ITEM or --all.")
        return USAGE
    if not may_write(arguments, dry_run=arguments.dry_run):
        say_error("nobody is at the terminal to agree: name --yes, or --dry-run.")
        return USAGE
    return asyncio.run(_run(arguments))


def selected(changes: Sequence[Change], which: Sequence[str], *, every: bool) -> tuple[Change, ...]:
    """Return the changes that are meant: of a unit by its label, or one item of it.

    Raises:
        PlanError: one that was named isn't pending.
    """
    if every:
        return tuple(changes)
    for word in which:
        label, _, item = word.partition(":")
        if item and not any((c.label, c.key) == (label, item) for c in changes):
            raise PlanError(
                "it isn't pending: it stands as planned, or can't be written.",
                subject=word,
                stands="Nothing was written.",
                next_step="`walkdown apply --dry-run --all` lists what is.",
            )
    return tuple(c for c in changes if {c.label, f"{c.label}:{c.key}"} & set(which))


def exit_code(states: Sequence[StepState], waiting: int) -> int:
    """Return the exit code for what steps came to, and how many items wait for a person."""
    if states and set(states) == {StepState.NOT_DONE}:
        return FAILED
    return DONE if set(states) <= {StepState.DONE} and not waiting else REPORTED


def changes_in_words(changes: Sequence[Change]) -> str:
    """Return changes as a table."""
    rows: list[tuple[str, ...]] = [HEAD]
    for change in changes:
        values = (change.as_left, change.found, change.planned)
        cells = (change.label, change.key, *map(_value, values), change.reason, change.disrupts)
        rows.append(cells)
    return table(rows)


def say_result(result: StepResult) -> None:
    """Print what a step came to."""
    say(f"{result.label} {result.part}: {result.state.value}: {result.said}")


def say_rehearsal(rehearsal: Rehearsal) -> None:
    """Print what a step would do."""
    word = "could be written" if rehearsal.could else "could NOT be written"
    say(f"{rehearsal.label} {rehearsal.part}: {word}: {rehearsal.said}")
    for sends in rehearsal.sends:
        say(f"  would send {sends}")


async def _run(arguments: argparse.Namespace) -> int:
    by = name_of(arguments)
    async with reached(arguments) as units:
        if not arguments.dry_run:
            for result in await settle_all(units.inventory, units.hands.link_to):
                say_result(result)
        followed = await follow_up(units, arguments, by)
        _say_unfinished(units)
        changes = pending_of(units.inventory)
        chosen = choose(units.inventory, changes, arguments, by)
        named = [*arguments.which, *arguments.take_planned]
        due = selected(chosen, named, every=arguments.all)
        ready = [change for change in due if change.standing is Standing.TO_APPLY]
        waiting = [change for change in due if change.standing is not Standing.TO_APPLY]
        if due or not followed:
            _say_due(ready, waiting)
        if arguments.dry_run:
            return await _rehearse(units, ready, len(waiting))
        states = [result.state for result in followed]
        if ready and agreed(arguments):
            results = await apply_changes(units.hands, ready, by=by, after_each=say_result)
            states += [result.state for result in results]
        elif ready:
            say("Nothing was written.")
        unfinished = units.inventory.unfinished_steps() + units.inventory.open_steps()
    return exit_code(states, len(waiting) + len(unfinished))


async def _rehearse(units: Reached, ready: Sequence[Change], waiting: int) -> int:
    rehearsals = await rehearse_changes(units.hands, ready)
    for rehearsal in rehearsals:
        say_rehearsal(rehearsal)
    return DONE if all(one.could for one in rehearsals) and not waiting else REPORTED


def _say_due(ready: Sequence[Change], waiting: Sequence[Change]) -> None:
    if ready:
        say(changes_in_words(ready))
    if waiting:
        say("Waits for a person's choice (--keep-found or --take-planned LABEL:ITEM --reason WHY):")
        say(changes_in_words(waiting))
    if not ready and not waiting:
        say("Nothing to apply.")


def _say_unfinished(units: Reached) -> None:
    for unfinished in units.inventory.unfinished_steps():
        step = unfinished.step
        say(f"{unfinished.key}  {step.label} {step.part}: partly done: {unfinished.said}")
        say(f"  choose: --resume, --roll-back or --let-be {unfinished.key}")


def _value(value: Value | None) -> str:
    return "–" if value is None else str(value)

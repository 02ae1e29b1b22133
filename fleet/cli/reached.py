"""The units of the current site, met for a verb that writes to them; the writer's right is needed first."""

import argparse
import contextlib
import getpass
import sys
from collections.abc import AsyncIterator, Collection
from dataclasses import dataclass
from pathlib import Path

from fleet.cli.clocks import real_clock
from fleet.cli.saying import say_error
from fleet.cli.secret import vault_passphrase
from fleet.engine.apply_run import Hands
from fleet.engine.meeting import acquaintance_with
from fleet.engine.operations import OperationBook
from fleet.engine.profile_files import load_profiles, profile_folders
from fleet.engine.reception import Place, Reception
from fleet.engine.secrets import Secrets
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.link.credential_store import open_store
from fleet.model.errors import InventoryError, PlanError, WalkdownError

SCAN_S = 5.0


@dataclass(frozen=True, slots=True)
class Reached:
    """An open inventory and the ways to the units that were met."""

    inventory: Inventory
    reception: Reception

    @property
    def hands(self) -> Hands:
        """What an apply works with."""
        fleet = self.reception.fleet
        return Hands(self.inventory, fleet.link_to, fleet.read_again)


def add_reaching_arguments(parser: argparse.ArgumentParser) -> None:
    """Say how units are found."""
    parser.add_argument("--interface", default="", metavar="ADDR", help="address to listen on")
    parser.add_argument(
        "--address",
        action="append",
        default=[],
        metavar="URL",
        help="meet the unit there and don't listen; may be given several times",
    )
    parser.add_argument(
        "--profile", default="", metavar="NAME", help="which kind the units at --address are of"
    )


def add_naming_arguments(parser: argparse.ArgumentParser) -> None:
    """Say who does it, and that it is meant."""
    parser.add_argument("--by", default="", metavar="NAME", help="who does it (the login's name)")
    parser.add_argument("--yes", action="store_true", help="don't ask before writing")


@contextlib.asynccontextmanager
async def reached(
    arguments: argparse.Namespace, serials: Collection[str] = ()
) -> AsyncIterator[Reached]:
    """Open the inventory to write, and meet units.

    Args:
        arguments: with `data`, `interface`, `address` and `profile`.
        serials: whom to wait for; () for all of the schedule.

    Raises:
        InventoryError: another program writes, or the disk refuses; no unit was spoken to.
        PlanError: there is no site yet.
        LinkError: the interface can't be listened on.
    """
    data: Path = arguments.data
    clock, ask = real_clock(), vault_passphrase(data)
    async with contextlib.AsyncExitStack() as stack:
        inventory = stack.enter_context(open_inventory(data, clock))
        need_to_write(inventory)
        profiles = load_profiles(profile_folders(data)).profiles
        secrets = Secrets(open_store(data, ask))
        acquaintance = acquaintance_with(inventory, secrets, clock, profiles)
        stack.push_async_callback(acquaintance.close)
        place = Place(arguments.interface)
        reception = Reception(inventory, acquaintance, OperationBook(), clock, place)
        stack.push_async_callback(reception.close)
        await _meet(reception, inventory, arguments, serials)
        yield Reached(inventory, reception)


def need_to_write(inventory: Inventory) -> None:
    """Refuse an inventory that another program writes, or that holds no site, before any unit is met.

    Raises:
        InventoryError, PlanError: it is one.
    """
    if inventory.read_only:
        raise InventoryError(
            f"nothing can be written: {inventory.read_only_because}.",
            subject=str(inventory.path),
            stands="No unit was spoken to.",
            next_step="Close the other program, then start this one again.",
        )
    if inventory.site_name is None:
        raise PlanError("there is no site yet.", next_step="Add one: walkdown site add PLAN")


def may_write(arguments: argparse.Namespace, *, dry_run: bool) -> bool:
    """Say whether a person has agreed to write, or can be asked."""
    return dry_run or bool(arguments.yes) or sys.stdin.isatty()


def agreed(arguments: argparse.Namespace) -> bool:
    """Ask the person at the terminal, unless they agreed beforehand."""
    return bool(arguments.yes) or input("Write this? [y/N] ").strip().lower() in ("y", "yes")


def name_of(arguments: argparse.Namespace) -> str:
    """Return who does it.

    Raises:
        PlanError: nobody is named, and the login has no name.
    """
    if arguments.by.strip():
        return str(arguments.by).strip()
    try:
        return getpass.getuser()
    except (OSError, KeyError) as reason:
        raise PlanError(
            "who does it has to be said.", stands="Nothing was written.", next_step="Name --by."
        ) from reason


async def _meet(
    reception: Reception,
    inventory: Inventory,
    arguments: argparse.Namespace,
    serials: Collection[str],
) -> None:
    if arguments.address:
        for url in arguments.address:
            try:
                await reception.add_address(url, arguments.profile)
            except WalkdownError as reason:
                say_error(reason)
        return
    scheduled = frozenset(serials or (line.serial for line in inventory.plan().units))
    await reception.scan(SCAN_S, scheduled - {""})
    for trouble in reception.troubles():
        say_error(trouble)

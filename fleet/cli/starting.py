"""What a face needs to start: where the inventory lies and how to make a visit on it."""

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fleet.cli.clocks import real_clock
from fleet.engine.visit import Visit
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.record.signing import load_or_make_key, new_key

AskPassphrase = Callable[[], bytes]


@dataclass(frozen=True, slots=True)
class WorkbenchStart:
    """All that the workbench is started with.

    Attributes:
        data: the inventory's folder.
        make_visit: opens the inventory and makes a visit on it, in the loop that the visit will live
            in; stopping the visit closes the inventory.
        note: a word for the head of the window, "" for none.
        theme: "light" or "dark".
    """

    data: Path
    make_visit: Callable[[], Awaitable[Visit]]
    note: str = ""
    theme: str = "light"


def real_start(data: Path, ask: AskPassphrase, *, theme: str = "light") -> WorkbenchStart:
    """Return the start on the real sites of a data folder.

    Args:
        data: the inventory's folder; made where it is missing.
        ask: asks a person for the passphrase of the signing key where there is no keyring.
        theme: "light" or "dark".
    """

    async def make_visit() -> Visit:
        clock = real_clock()
        inventory = open_inventory(data, clock)
        return Visit(
            inventory,
            clock,
            key_source=key_source(data, inventory, ask),
            at_end=inventory.close,
        )

    return WorkbenchStart(data, make_visit, theme=theme)


def key_source(
    data: Path, inventory: Inventory, ask: AskPassphrase
) -> Callable[[], Ed25519PrivateKey]:
    """Return what gives the signing key: a throw-away one for a demo site, the firm's otherwise."""

    def give() -> Ed25519PrivateKey:
        return new_key() if inventory.plan().site.demo else load_or_make_key(data, ask)

    return give

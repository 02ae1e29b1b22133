"""What a face needs to start: where the inventory lies and how to make a visit on it."""

import contextlib
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fleet.cli.clocks import real_clock
from fleet.engine.meeting import Acquaintance, acquaintance_with
from fleet.engine.profile_files import load_profiles, profile_folders
from fleet.engine.secrets import Secrets
from fleet.engine.visit import Visit
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.inventory.opening import FILE_NAME
from fleet.link.credential_store import open_store
from fleet.link.pinning import PinBook, VisitPins
from fleet.model.meeting import Pin
from fleet.record.signing import load_or_make_key
from fleet.signing.ed25519 import new_key

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
        return open_visit(data, ask)

    return WorkbenchStart(data, make_visit, theme=theme)


def open_visit(data: Path, ask: AskPassphrase, *, interface: str = "") -> Visit:
    """Open a folder's inventory and make a visit on it; call it in the loop that it will live in.

    Args:
        data: the inventory's folder; made where it is missing.
        ask: asks a person for a passphrase where there is no keyring.
        interface: address of the interface to listen on; "" for all.

    Raises:
        InventoryError: the inventory can't be opened.
    """
    clock = real_clock()
    inventory = open_inventory(data, clock)
    return Visit(
        inventory,
        clock,
        interface=interface,
        key_source=key_source(data, inventory, ask),
        secrets=open_store(data, ask),
        profiles=load_profiles(profile_folders(data)).profiles,
        at_end=inventory.close,
    )


@contextlib.asynccontextmanager
async def acquaintance_of(data: Path, ask: AskPassphrase) -> AsyncIterator[Acquaintance]:
    """Open the ways to units with what a data folder knows of them; nothing of the inventory changes.

    Where there is no inventory yet, none is made: certificates are then trusted for this once.
    """
    clock = real_clock()
    profiles = load_profiles(profile_folders(data)).profiles
    with contextlib.ExitStack() as stack:
        known: PinBook | None = None
        if (data / FILE_NAME).exists():
            known = stack.enter_context(open_inventory(data, clock))
        secrets = Secrets(open_store(data, ask))
        acquaintance = acquaintance_with(OncePins(known), secrets, clock, profiles)
        try:
            yield acquaintance
        finally:
            await acquaintance.close()


class OncePins(VisitPins):
    """Certificates that are known already, and those seen now, which aren't kept."""

    def __init__(self, known: PinBook | None) -> None:
        """Look in a book first; None for none."""
        super().__init__()
        self._known = known

    def pin_for(self, key: str) -> Pin | None:
        """Return what is known under a key, or seen now, or None."""
        return (self._known.pin_for(key) if self._known else None) or super().pin_for(key)


def key_source(
    data: Path, inventory: Inventory, ask: AskPassphrase
) -> Callable[[], Ed25519PrivateKey]:
    """Return what gives the signing key: a throw-away one for a demo site, the firm's otherwise."""

    def give() -> Ed25519PrivateKey:
        return new_key() if inventory.plan().site.demo else load_or_make_key(data, ask)

    return give
